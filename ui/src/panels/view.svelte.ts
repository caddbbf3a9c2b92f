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

class View {
  tab = $state<TabId>("properties");
  /** Whether the panel is unfolded. On a small screen it starts folded, so that the plan has the room. */
  open = $state(!matchMedia("(max-width: 900px)").matches);
  help = $state(false);
  /** Whether it is being asked which sheets to print. */
  sheets = $state(false);
  /** What is searched for among the features; it stays while one of them is looked at. */
  search = $state("");

  /** What is searched for among the rules and prices, and in which part of them. */
  rules = $state("");
  part = $state<"all" | "practice" | "prices" | "changed">("all");

  show(tab: TabId): void {
    this.tab = tab;
    this.open = true;
  }
}

export const view = new View();
