/** Bringing in what others have drawn or measured. */
import { post, Refused, send } from "../api/client";
import type * as C from "../api/contract";
import { session } from "../lib/session.svelte";

const PICTURE = /\.(png|jpe?g|pdf)$/i;

class Importing {
  /** A picture or page that waits for its scale. */
  picture = $state.raw<File | null>(null);
  /** What came of the last file, in the program's words. */
  report = $state("");
  busy = $state("");

  /** Lets the user choose a file. */
  choose(): void {
    const input = document.createElement("input");
    input.type = "file";
    input.accept = ".dxf,.json,.geojson,.csv,.txt,.gpx,.png,.jpg,.jpeg,.pdf";
    input.addEventListener("change", () => {
      const file = input.files?.[0];
      if (file) void this.bring(file);
    });
    input.click();
  }

  async bring(file: File): Promise<void> {
    this.report = "";
    if (PICTURE.test(file.name)) {
      this.picture = file;
      return;
    }
    await this.#send("import", { name: file.name, tab: session.tab }, file);
  }

  /** Lays the picture that waits to scale; `known` as the contract writes it. */
  async lay(known: string): Promise<boolean> {
    const file = this.picture;
    if (file === null) return false;
    const laid = await this.#send("picture", { name: file.name, known, tab: session.tab }, file);
    if (laid) {
      this.picture = null;
      await session.reload();
    }
    return laid;
  }

  /** Takes a picture out again. */
  async drop(name: string): Promise<void> {
    try {
      await post("picture/drop", { name });
      await session.reload();
    } catch (error) {
      session.problem = error instanceof Refused ? error.problem : { what: "The program does not answer.", mend: "start it again with `spadework open`", findings: [] };
    }
  }

  async #send(path: string, query: Record<string, string>, file: File): Promise<boolean> {
    this.busy = `Reading ${file.name} …`;
    try {
      const answer = await send<Partial<C.Imported> & { notes?: string[] }>(path, query, file);
      this.report = answer.report ?? ([...(answer.notes ?? [])].join("\n") || `${file.name} lies under the plan.`);
      return true;
    } catch (error) {
      session.problem =
        error instanceof Refused
          ? error.problem
          : { what: `${file.name} could not be sent: the program does not answer.`, mend: "start it again with `spadework open`", findings: [] };
      return false;
    } finally {
      this.busy = "";
    }
  }
}

export const importing = new Importing();
