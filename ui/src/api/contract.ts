/**
 * What the program answers: the types made from its own description (openapi.json), with what GeoJSON and a few plain
 * texts are more narrowly.
 *
 * All coordinates are in the job's plane and the job's length unit, x right, y up. Every text of a figure is in the
 * units in which the job is read.
 */
import type { components } from "./schema";

type S = components["schemas"];

export type Place = [number, number];

export type Geometry =
  | { type: "Point"; coordinates: Place }
  | { type: "MultiPoint"; coordinates: Place[] }
  | { type: "LineString"; coordinates: Place[] }
  | { type: "Polygon"; coordinates: Place[][] };

/** A feature of the job file; its properties are texts with units as the user wrote them ("18 in"), or booleans. */
export interface Feature {
  type: "Feature";
  id: string;
  geometry: Geometry | null;
  properties: Record<string, unknown>;
}

/** One step of a change. */
export type Op =
  | { op: "put"; feature: Feature; at?: number }
  | { op: "remove"; id: string }
  | { op: "set"; path: string; value: unknown };

type With<T, U> = Omit<T, keyof U> & U;

export type JobView = With<
  S["JobView"],
  {
    features: Feature[];
    header: Record<string, unknown>;
    length_unit: "ft" | "m";
    units: "us" | "si";
    pictures: PictureView[];
  }
>;
export type ChangeKind = "edit" | "undo" | "redo" | "return" | "found";
export type Changed = With<S["Changed"], { ops: Op[]; kind: ChangeKind }>;
export type HistoryEntry = With<S["HistoryEntry"], { kind: ChangeKind }>;
export type PictureView = With<S["PictureView"], { bounds: [number, number, number, number] }>;
export type KindView = With<S["KindView"], { geometry: ("Point" | "MultiPoint" | "LineString" | "Polygon" | "null")[] }>;
export type AheadView = With<S["AheadView"], { days: [number, number]; dates: [string, string] | null }>;
export type PlanView = With<S["PlanView"], { ahead: AheadView[] }>;
export interface Edit {
  label: string;
  tab: string;
  ops: Op[];
}

export type Finding = S["FindingView"];
export type Edited = S["Edited"];
export type VariantView = S["VariantView"];
export type Planning = S["Planning"];
export type Unplanned = S["Unplanned"];
export type Fig = S["Fig"];
export type WorkingView = S["WorkingView"];
export type Total = S["Total"];
export type MethodView = S["MethodView"];
export type StretchView = S["StretchView"];
export type SectionView = S["SectionView"];
export type PipeView = S["PipeView"];
export type OutletView = S["OutletView"];
export type CircuitView = S["CircuitView"];
export type ValveView = S["ValveView"];
export type CrossingView = S["CrossingView"];
export type NarrowView = S["NarrowView"];
export type DayView = S["DayView"];
export type TaskView = S["TaskView"];
export type MoneyView = S["MoneyView"];
export type MaterialView = S["MaterialView"];
export type RiskView = S["RiskView"];
export type PropertyView = S["PropertyView"];
export type SettingView = S["SettingView"];
export type Imported = S["Taken"];
export type Laid = S["Laid"];
export type Problem = S["Problem"];
