/** A still of the plan for paper: what is on screen is as wide as the window, paper is not. */
import { theme } from "./theme.svelte";

class Printing {
  still = $state("");

  /** Takes the still of all layers that lie over each other in the plan. */
  take(): void {
    const plan = document.getElementById("plan");
    if (!plan) return;
    const frame = plan.getBoundingClientRect();
    if (frame.width < 1 || frame.height < 1) return;
    const ratio = Math.max(devicePixelRatio, 1);
    const sheet = document.createElement("canvas");
    sheet.width = Math.round(frame.width * ratio);
    sheet.height = Math.round(frame.height * ratio);
    const ctx = sheet.getContext("2d");
    if (!ctx) return;
    ctx.fillStyle = "#ffffff";
    ctx.fillRect(0, 0, sheet.width, sheet.height);
    ctx.scale(ratio, ratio);
    for (const canvas of plan.querySelectorAll("canvas")) {
      const box = canvas.getBoundingClientRect();
      if (canvas.width > 0 && canvas.height > 0) ctx.drawImage(canvas, box.left - frame.left, box.top - frame.top, box.width, box.height);
    }
    this.still = sheet.toDataURL("image/png");
  }

  /** Prints in the colours of paper, whatever the screen shows. */
  async print(): Promise<void> {
    const root = document.documentElement;
    const shown = root.dataset.theme;
    if (theme.dark) {
      root.dataset.theme = "light";
      // The drawing sees the change and paints anew within two frames.
      await frames(3);
    }
    this.take();
    await frames(1);
    window.print();
    root.dataset.theme = shown;
  }
}

const frames = async (number: number): Promise<void> => {
  for (let n = 0; n < number; n += 1) await new Promise((done) => requestAnimationFrame(done));
};

export const printing = new Printing();
