/** The plan on paper. */
import { session } from "../lib/session.svelte";

class Printing {
  /** Address of the picture that is printed; empty while nothing is. */
  picture = $state("");

  /** Takes the canvases that lie over each other as they are on screen: for the browser's own menu, and without a plan. */
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
    this.picture = sheet.toDataURL("image/png");
  }

  /** Prints the plan as the program draws it on a sheet, sharp at any size. */
  async print(): Promise<void> {
    const root = document.documentElement;
    const shown = root.dataset.theme;
    const sheet = session.unplanned.length === 0 ? await this.#sheet() : "";
    if (sheet !== "") {
      this.picture = sheet;
    } else {
      // Paper is light; the drawing sees the change and paints anew within two frames.
      root.dataset.theme = "light";
      await frames(3);
      this.take();
    }
    await frames(1);
    await Promise.all([...document.querySelectorAll<HTMLImageElement>(".print-only img")].map((image) => image.decode().catch(() => undefined)));
    window.print();
    root.dataset.theme = shown;
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

const frames = async (number: number): Promise<void> => {
  for (let n = 0; n < number; n += 1) await new Promise((done) => requestAnimationFrame(done));
};

export const printing = new Printing();
