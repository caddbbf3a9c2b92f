/** The shapes of components, in millimetres around their middle, y down: one source for plan, palette and legend. */

/** `ink` and `paper` follow the scheme; anything else is a colour. */
export type Paint = "ink" | "paper" | (string & {});
export interface Part { d: string; fill?: Paint; stroke?: Paint; width?: number; dashes?: number[]; alpha?: number }
export interface Symbol { radius: number; parts: Part[] }

const disc = (r: number, x = 0, y = 0) => `M${x - r} ${y}a${r} ${r} 0 1 0 ${2 * r} 0a${r} ${r} 0 1 0 ${-2 * r} 0z`;
const square = (r: number) => `M${-r} ${-r}h${2 * r}v${2 * r}h${-2 * r}z`;
const diamond = (r: number) => `M0 ${-r}L${r} 0L0 ${r}L${-r} 0z`;
const onPaper = (d: string, width = 0.4): Part => ({ d, fill: "paper", stroke: "ink", width });
const solid = (d: string): Part => ({ d, fill: "ink" });
const line = (d: string, width = 0.4, stroke: Paint = "ink", dashes?: number[]): Part => ({ d, stroke, width, ...(dashes ? { dashes } : {}) });

/** Things with a place. */
export const SYMBOLS: Record<string, Symbol> = {
  source: { radius: 2.3, parts: [onPaper(disc(2.3)), solid(disc(1.2))] },
  backflow: { radius: 2.2, parts: [onPaper(square(2.2)), solid("M-1.7 -1.3V1.3L0 0z"), onPaper("M1.7 -1.3V1.3L0 0z")] },
  controller: { radius: 2.2, parts: [onPaper(square(2.2)), solid(square(1.1))] },
  valve: { radius: 1.7, parts: [onPaper(diamond(1.7)), solid(disc(0.55))] },
  head: { radius: 1.15, parts: [onPaper(disc(1.1)), solid(disc(0.35))] },
  drip: { radius: 1.3, parts: [onPaper("M0 -1.3L1.2 0.9H-1.2z"), solid(disc(0.3, 0, 0.2))] },
  cable: { radius: 1.1, parts: [onPaper(square(0.95)), line("M-0.95 0.95L0.95 -0.95")] },
  manifold: { radius: 1.5, parts: [{ d: diamond(1.5), fill: "paper", stroke: "ink", width: 0.3, dashes: [0.8, 0.5] }] },
  access: { radius: 2.6, parts: [onPaper(disc(2.6)), line("M-1.2 0L0 -1.2L1.2 0M-1.2 1.4L0 0.2L1.2 1.4")] },
  spot: { radius: 0.7, parts: [line("M-0.7 0H0.7M0 -0.7V0.7", 0.25)] },
  mark: { radius: 1.5, parts: [line(disc(1), 0.3), line("M-1.5 0H1.5M0 -1.5V1.5", 0.25)] },
  tree: { radius: 2.4, parts: [{ d: disc(2.4), fill: "#4d7a3a", alpha: 0.2 }, line(disc(2.4), 0.3, "#4d7a3a", [1.6, 0.8]), { d: disc(0.9), fill: "#6b4a2b" }] },
  crossing: { radius: 1.9, parts: [onPaper("M-1.9 -1.43H1.9L0 1.9z", 0.45), solid(disc(0.35))] },
  pit: { radius: 0.75, parts: [onPaper(square(0.75), 0.25)] },
};

/** Pictures of the other kinds for the palette. */
const PICTURES: Record<string, Part[]> = {
  boundary: [line("M-2.4 -1.8H2.4V1H0.8L0.8 1.8H-2.4z", 0.4, "ink", [1.8, 0.5, 0.4, 0.5])],
  surface: [{ d: "M-2.5 -1.9H2.5V1.9H-2.5z", fill: "#8fae7c", alpha: 0.35 }, line("M-2.5 -1.9H2.5V1.9H-2.5z", 0.25), line("M-1.6 0L-1.2 -1.1L-0.8 0M0.6 1.2L1 0.1L1.4 1.2", 0.25)],
  obstacle: [line("M-2.4 -1.9H2.4V1.9H-2.4z", 0.5), line("M-2.4 0.6L0.2 -1.9M-1.6 1.9L2.2 -1.9M0.8 1.9L2.4 0.3", 0.25)],
  utility: [line("M-2.8 1.6L2.8 -1.6", 0.9, "#d0021b"), onPaper(disc(1.35), 0.3), line("M0.5 -0.75H-0.45V0.75H0.5M-0.45 0H0.35", 0.32)],
  soil: [line("M-2.5 -1.9H2.5V1.9H-2.5z", 0.25, "#9a8664", [0.5, 0.5]), line("M-1.6 -0.8h0.4M0.4 -1h0.4M-0.6 0.4h0.4M1.4 0.6h0.4M-1.5 1.3h0.4M0.5 1.2h0.4", 0.45, "#9a8664")],
  steep: [line("M-2.5 -1.9H2.5V1.9H-2.5z", 0.25, "ink", [0.6, 0.8]), line("M-1.7 -1.5V0.9M-0.6 -1.5V0.1M0.5 -1.5V0.9M1.6 -1.5V0.1", 0.3)],
  gate: [solid("M-2.6 1h1.1v1.1h-1.1zM1.5 1h1.1v1.1h-1.1z"), line("M-2 1.5L0 -2", 0.4), line("M0 -2A4 4 0 0 1 2 1.5", 0.2)],
  baseline: [line("M-2.5 0H2.5", 0.35), line("M-2.5 -0.8V0.8M-0.8 -0.5V0.5M0.9 -0.5V0.5M2.5 -0.8V0.8", 0.3)],
  circuit: [line("M-1.6 1.2L0 -1.2L1.7 1", 0.3), onPaper(disc(0.7, -1.6, 1.2), 0.3), onPaper(disc(0.7, 0, -1.2), 0.3), onPaper(disc(0.7, 1.7, 1), 0.3)],
  sleeve: [line("M-2.6 -0.6H2.6M-2.6 0.6H2.6", 0.35), line("M-2.6 -1.2V1.2M2.6 -1.2V1.2", 0.45)],
  keep_out: [{ d: "M-2.4 -1.8H2.4V1.8H-2.4z", fill: "keepOut", alpha: 0.12 }, line("M-2.4 -1.8H2.4V1.8H-2.4z", 0.4, "keepOut", [1.1, 0.5]), line("M-2.4 0.8L0.2 -1.8M-1 1.8L2.4 -1.6", 0.25, "keepOut")],
  corridor: [{ d: "M-2.6 0.4L1.6 -1.9L2.6 -0.4L-1.6 1.9z", fill: "decision", alpha: 0.18 }, line("M-2.6 0.4L1.6 -1.9M2.6 -0.4L-1.6 1.9", 0.35, "decision", [0.5, 0.6])],
  fixed_trench: [{ d: "M-2.6 1.3L-0.4 -1.1L2.6 -0.6", stroke: "decision", width: 1.8, alpha: 0.4 }, line("M-2.6 1.3L-0.4 -1.1L2.6 -0.6", 0.5)],
};

/** The picture of a kind, within about 2.8 mm of its middle. */
export const pictureOf = (kind: string): Part[] => SYMBOLS[kind]?.parts ?? PICTURES[kind] ?? [line(square(1.6))];

/** How much a picture of a kind may be enlarged in a square of 6 mm. */
export const pictureScale = (kind: string): number => {
  const radius = SYMBOLS[kind]?.radius;
  return radius === undefined ? 1 : Math.min(1.6, 2.4 / radius);
};
