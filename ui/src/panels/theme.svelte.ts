/** Light or dark: what the machine prefers, or what was chosen here. */
const KEY = "spadework-theme";

export type Choice = "system" | "light" | "dark";

function remembered(): Choice {
  try {
    const kept = localStorage.getItem(KEY);
    return kept === "light" || kept === "dark" ? kept : "system";
  } catch {
    // A browser may forbid the page to keep anything; then the machine's preference counts.
    return "system";
  }
}

class Theme {
  choice = $state<Choice>(remembered());
  #prefersDark = $state(matchMedia("(prefers-color-scheme: dark)").matches);
  dark = $derived(this.choice === "dark" || (this.choice === "system" && this.#prefersDark));

  constructor() {
    matchMedia("(prefers-color-scheme: dark)").addEventListener("change", (event) => {
      this.#prefersDark = event.matches;
      this.#show();
    });
    this.#show();
  }

  /** From the machine's preference to light to dark and round again. */
  turn(): void {
    this.choice = this.choice === "system" ? "light" : this.choice === "light" ? "dark" : "system";
    try {
      localStorage.setItem(KEY, this.choice);
    } catch {
      // The choice then lasts until the page is closed.
    }
    this.#show();
  }

  // The drawing watches this attribute, so it names what is shown, never "system".
  #show(): void {
    document.documentElement.dataset.theme = this.dark ? "dark" : "light";
  }
}

export const theme = new Theme();
