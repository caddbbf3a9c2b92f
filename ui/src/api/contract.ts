// The server's API. All coordinates are in the job's plane and the job's length unit (x right, y up).
// Every text of a figure is already in the units that the job is read in.

export type Place = [number, number];

/** A GeoJSON feature of the job file: id, geometry (or null), properties with `kind`. Property values are
 *  texts with units as the user wrote them ("18 in"), or booleans, numbers, lists. See docs/job-format.md. */
export interface Feature { type: "Feature"; id: string; geometry: Geometry | null; properties: Record<string, unknown> }
export type Geometry =
  | { type: "Point"; coordinates: Place } | { type: "MultiPoint"; coordinates: Place[] }
  | { type: "LineString"; coordinates: Place[] } | { type: "Polygon"; coordinates: Place[][] };

export interface Finding { severity: "error" | "warning" | "caution"; rule: string; subject: string; what: string; mend: string; at?: Place | null }

/** GET /api/job */
export interface JobView {
  version: number;                     // number of the newest change in the file
  file: string;                        // the file's name, without its folder
  header: Record<string, unknown>;     // `spadework` of the job file: name, invented, length_unit, display, seed, practice?, prices? …
  length_unit: "ft" | "m";
  units: "us" | "si";                  // what figures are shown in
  features: Feature[];
  findings: Finding[];                 // what stands against the job as it is now
  undo: string | null;                 // words for the change that undo would take back
  redo: string | null;
  pictures: PictureView[];
}
export interface PictureView { name: string; bounds: [number, number, number, number]; width: number; height: number } // bytes: GET /api/picture?name=

/** One step of a change. */
export type Op =
  | { op: "put"; feature: Feature }                       // new, or replaces the one with its id (position kept)
  | { op: "remove"; id: string }
  | { op: "set"; path: string; value: unknown | null };   // JSON pointer inside the header, e.g. /name, /prices/method/spade/cost ; null removes

/** POST /api/edits -> Edited, once it is in the file */
export interface Edit { label: string; tab: string; ops: Op[] }   // label: "Moved head H3"
export interface Edited { version: number }
/** POST /api/undo, /api/redo {tab} -> Edited ; POST /api/return {tab, version} -> Edited (back to the job as it was at a version, as a new change) */

/** GET /api/history?before=&limit= -> newest first */
export interface HistoryEntry { version: number; label: string; at: string /* ISO time */; kind: "edit" | "undo" | "redo" | "return" | "opened" }

/** GET /api/variants ; POST /api/variants {name} keeps the job as it is with its plan's totals; POST /api/variants/open {tab,name} ; POST /api/variants/drop {name} */
export interface VariantView { name: string; version: number; at: string; totals: Total[] }

/** GET /api/events : server-sent events.
 *  event "changed": Changed          (also to the tab that made it)
 *  event "planning": Planning        (words about what is going on)
 *  event "planned": {version, quality} -> the page then GETs /api/plan
 *  event "unplanned": Unplanned      (no plan can be made: errors)                                  */
export interface Changed { version: number; label: string; tab: string; kind: HistoryEntry["kind"]; ops: Op[]; findings: Finding[]; undo: string | null; redo: string | null }
export interface Planning { version: number; words: string }
export interface Planned { version: number; quality: "draft" | "full" }
export interface Unplanned { version: number; findings: Finding[] }

/** A figure in words; `id` asks for its working at GET /api/working?figure=ID */
export interface Fig { text: string; id: string | null }
export interface WorkingView { id: string; label: string; value: string; formula: string; inputs: { name: string; value: string; from: string /* id of another figure, or source */; figure: boolean }[]; source: string; approximate: string }

/** GET /api/plan (204 while there is none) */
export interface PlanView {
  version: number;
  quality: "draft" | "full";       // draft: re-routed from the last plan with its machines; bound not proven, ranges not drawn
  totals: Total[];                 // price, cost, trench length, days, pipe, most open trench, fewest pressure to spare, bound … in order of weight
  against: { name: string; totals: Total[] } | null;   // differences to the last kept variant
  methods: MethodView[];
  stretches: StretchView[];
  pipes: PipeView[];
  outlets: OutletView[];
  circuits: CircuitView[];
  valves: { id: string; at: Place; circuit: string }[];   // proposed ones too
  crossings: CrossingView[];
  narrows: NarrowView[];           // pinch points: gaps that keep a machine away
  days: DayView[];
  tasks: TaskView[];
  ahead: { what: string; days: Place; dates: [string, string] | null }[];
  money: { currency: string; parts: { name: string; amount: number; text: string }[]; lines: { group: string; what: string; fig: Fig; amount: number }[]; total: Fig; with_tax: Fig };
  materials: { counter: string; what: string; order: Fig; cost: Fig }[];
  risk: RiskView | null;           // null in drafts
  findings: Finding[];
}
export interface Total { id: string; what: string; fig: Fig; value: number; better: "less" | "more" | "neither" }
export interface MethodView { id: string; label: string; style: { colour: string; weight: number; dashes: number[]; hollow: boolean }; length: Fig; cost: Fig }
export interface StretchView {
  id: string; path: Place[]; method: string; reason: string; runner_up: string | null; rejected: { method: string; why: string }[];
  from: string; to: string; length: Fig; depth: Fig; width: Fig; cost: Fig; hours: Fig; contents: string; zones: string; ground: string;
  section: SectionView; opened: number | null; closed: number | null;   // working days between which it lies open
  conflict: boolean;
}
/** Metres, to draw to scale: 0 is the surface, down is positive. */
export interface SectionView {
  pulled: boolean; sleeve: boolean; depth: number; width: number; top_width: number; bedding: number; crown: number; lifts: number;
  contents: { what: string; outside: number; count: number; middle: number; cover: Fig }[]; markers: { what: string; cover: number }[];
}
export interface PipeView { line: string; kind: "service" | "main" | "lateral"; circuit: string | null; stretch: string; path: Place[] /* in the direction of flow */; size: string; label: string; flow: Fig; velocity: Fig }
export interface OutletView { id: string; at: Place; circuit: string; pressure: Fig; needs: Fig; margin: Fig; spare: number /* share of what it needs, <0 lacks */; worst: boolean }
export interface CircuitView { id: string; name: string; flow: Fig; valve_pressure: Fig; worst: string; outlets: number; proposed: boolean }
export interface CrossingView { stretch: string; utility: string; service: string; at: Place; words: string; verdict: "enough" | "unknown" | "too_close"; expose: boolean }
export interface NarrowView { from: Place; to: Place; clear: Fig; words: string; keeps_away: { method: string; needed: Fig }[] }
export interface DayView { day: number; date: string | null; open: Fig; tasks: string[]; machines: string[]; stretches_open: string[] }
export interface TaskView { id: string; what: string; kind: string; crew: string; people: number; start: number; end: number /* working days, fractional */; from: string; to: string; stretches: string[]; machine: string | null }
export interface RiskView { cost: { p10: Fig; p50: Fig; p90: Fig }; days: { p10: number; p50: number; p90: number }; quantiles: number[] /* cents, 21 from 0 to 100 % */; quantile_texts: string[]; plan: number; contingency: Fig; causes: { what: string; share: number; low: Fig; high: Fig }[] }

/** GET /api/kinds : what can be drawn */
export interface KindView { name: string; label: string; group: "ground" | "services" | "system" | "decisions"; geometry: ("Point" | "MultiPoint" | "LineString" | "Polygon" | "null")[]; about: string; properties: PropertyView[] }
export interface PropertyView { name: string; label: string; about: string; type: "choice" | "quantity" | "text" | "flag" | "feature" | "features" | "list" | "number"; choices: { value: string; label: string }[]; unit: string /* example "18 in" */; of: string /* kind that a feature reference names */; required: boolean }
/** GET /api/settings : the local rules and prices that can be changed */
export interface SettingView { path: string /* pointer for op set, e.g. /prices/method/spade/… */; part: "practice" | "prices"; section: string; label: string; value: string; default: string; changed: boolean; source: string }

/** POST /api/import?name=plan.dxf (body: bytes) {tab in header X-Tab} -> Imported ; wrong file: 422 Problem */
export interface Imported { version: number | null; report: string }
/** POST /api/picture?name=&known=px,py,x,y;px,py,x,y (body: bytes) lays a picture to scale by two points */
/** Problem: what every refused request answers (400, 403, 404, 413, 422) */
export interface Problem { what: string; mend: string; findings: Finding[] }
/** Cross-site protection: every POST carries the header `X-Spadework: 1` and the token from <meta name="token">. */
