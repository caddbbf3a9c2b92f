/** What the keys do while the plan has the keyboard. */
import { drawing } from "./state.svelte";
import type { Tools } from "./tools.svelte";

interface Looks {
  all: () => void;
  zoom: (by: number) => void;
  pan: (x: number, y: number) => void;
  type: (text: string) => void;
}

const ARROWS: Record<string, [number, number]> = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };

/** The deed of a key; null where it is not ours. */
export function keyOf(event: KeyboardEvent, tools: Tools, look: Looks): (() => void) | null {
  const { key } = event;
  const ctrl = event.ctrlKey || event.metaKey;
  if (event.altKey) return null;
  const arrow = ARROWS[key];
  if (arrow !== undefined) return ctrl ? () => look.pan(...arrow) : () => tools.arrow(...arrow, event.shiftKey);
  if (ctrl) {
    const letter = key.toLowerCase();
    if (letter === "c" && tools.chosen.length > 0) return () => tools.copy();
    if (letter === "v") return () => void tools.paste();
    // What is not in the file yet is taken back here; the rest is the page's undo.
    if (letter === "z" && !event.shiftKey && (tools.isResting || tools.drawn.length > 0)) return () => (tools.isResting ? tools.cancel() : tools.undoPoint());
    if (letter === "d") return () => void tools.duplicate();
    return null;
  }
  // While drawing, figures are what is typed; 0 alone keeps its meaning only where nothing can be typed.
  if (tools.isDrawing && drawing.shape !== "null" && /^[\d.<@'"]$/.test(key)) return () => look.type(key);
  switch (key) {
    case "0":
      return look.all;
    case "+":
    case "=":
      return () => look.zoom(1.5);
    case "-":
    case "_":
      return () => look.zoom(1 / 1.5);
    case "Escape":
      return () => tools.cancel();
    case "Enter":
      return () => (tools.isDrawing ? tools.enter() : tools.cross !== null ? tools.pick(tools.cross, event.shiftKey) : tools.arrow(0, 0, false));
    case "Backspace":
      return () => (tools.drawn.length > 0 ? tools.undoPoint() : void tools.remove());
    case "Delete":
      return () => void tools.remove();
    case "Insert":
      return () => tools.addRef();
    case "]":
      return () => tools.nextRef(1);
    case "[":
      return () => tools.nextRef(-1);
    default:
      return null;
  }
}
