/** What the panel shows. */
export const TABS = [
  { id: "properties", label: "Properties" },
  { id: "plan", label: "Plan" },
  { id: "days", label: "Days" },
  { id: "money", label: "Money" },
  { id: "rules", label: "Rules" },
  { id: "variants", label: "Variants" },
  { id: "findings", label: "Findings" },
] as const;

export type TabId = (typeof TABS)[number]["id"];

const PASSED = "spadework none in ";

class View {
  tab = $state<TabId>("properties");
  /** Whether the panel is unfolded. On a small screen it starts folded, so that the plan has the room. */
  open = $state(!matchMedia("(max-width: 900px)").matches);
  help = $state(false);
  /** Whether it is being asked which sheets to print. */
  sheets = $state(false);
  /** What is searched for among the features; it stays while one of them is looked at. */
  search = $state("");

  /** Steps of the guide of which somebody has said that there is nothing of the kind here. */
  passed = $state.raw<readonly string[]>([]);

  /** What is searched for among the rules and prices, and in which part of them. */
  rules = $state("");
  part = $state<"all" | "practice" | "prices" | "changed">("all");

  /** What was passed over in a job stays so when the page is loaded again, in the same window. */
  openPassed(file: string): void {
    if (this.#file === file) return;
    this.#file = file;
    try {
      const kept: unknown = JSON.parse(sessionStorage.getItem(`${PASSED}${file}`) ?? "[]");
      this.passed = Array.isArray(kept) ? kept.filter((id) => typeof id === "string") : [];
    } catch {
      this.passed = [];
    }
  }
  #file: string | null = null;

  /** Says of a step that there is something of the kind, or none. */
  pass(step: string, there: boolean): void {
    this.passed = there ? this.passed.filter((id) => id !== step) : [...this.passed, step];
    try {
      sessionStorage.setItem(`${PASSED}${this.#file}`, JSON.stringify(this.passed));
    } catch {
      // A browser that keeps nothing asks again after a reload.
    }
  }

  show(tab: TabId): void {
    this.tab = tab;
    this.open = true;
  }
}

export const view = new View();
