/** The plan on paper. */
import { tick } from "svelte";
import { drawing } from "../drawing/state.svelte";
import { session } from "../lib/session.svelte";

/** A picture of the shape of the room that paper has for it, in pixels of the screen, and how many dots each takes. */
const WIDTH = 1040;
const HEIGHT = 560;
const FINE = 2.5;

class Printing {
  /** Address of the picture that is printed; empty while nothing is. */
  picture = $state("");

  /** Takes the drawing as it is: for the browser's own menu, and where there is no plan. */
  take(): void {
    this.picture = drawing.viewer?.picture(WIDTH, HEIGHT, FINE)?.toDataURL("image/png") ?? "";
  }

  /** Prints the plan as the program draws it on a sheet, sharp at any size. */
  async print(): Promise<void> {
    const sheet = session.unplanned.length === 0 ? await this.#sheet() : "";
    if (sheet === "") this.take();
    else this.picture = sheet;
    await tick();
    await Promise.all([...document.querySelectorAll<HTMLImageElement>(".print-only img")].map((image) => image.decode().catch(() => undefined)));
    window.print();
    if (sheet !== "") URL.revokeObjectURL(sheet);
  }

  done(): void {
    this.picture = "";
  }

  async #sheet(): Promise<string> {
    try {
      const answer = await fetch("api/drawing", { credentials: "same-origin" });
      return answer.status === 200 ? URL.createObjectURL(new Blob([await answer.text()], { type: "image/svg+xml" })) : "";
    } catch {
      return "";
    }
  }
}

export const printing = new Printing();
