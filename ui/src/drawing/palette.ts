/** Colours and patterns of the drawing, on light and on dark paper. The light ones are those of the printed plan. */

export interface Scheme {
  dark: boolean;
  ink: string;
  paper: string;
  /** Ground outside the property. */
  beyond: string;
  muted: string;
  accent: string;
  halo: string;
  bad: string;
  keepOut: string;
  decision: string;
}

export const LIGHT: Scheme = {
  dark: false, ink: "#1a1a1a", paper: "#ffffff", beyond: "#f7f6f2", muted: "#6b6b66", accent: "#1f4d3a", halo: "rgba(255,255,255,0.82)",
  bad: "#9a0030", keepOut: "#8a1c1c", decision: "#2f6f8f",
};

export const DARK: Scheme = {
  dark: true, ink: "#ecebe4", paper: "#1c211e", beyond: "#141815", muted: "#a3a79f", accent: "#8fd3ae", halo: "rgba(20,24,21,0.8)",
  bad: "#ff8fae", keepOut: "#f09a9a", decision: "#86c3e0",
};

interface Pattern { width: number; height: number; ground: [light: string, dark: string] | null; mark: [light: string, dark: string]; weight: number; d: string }

const ring = (x: number, y: number, r: number) => `M${x - r} ${y}a${r} ${r} 0 1 0 ${2 * r} 0a${r} ${r} 0 1 0 ${-2 * r} 0`;

/** Tiles in millimetres of paper. */
export const PATTERNS: Record<string, Pattern> = {
  lawn_kept: { width: 9, height: 8, ground: ["#eef5e6", "#22301f"], mark: ["#8fae7c", "#5d7f4c"], weight: 0.18, d: "M1.6 2.6L2 1.5M2.4 2.6L2 1.5M6.1 6.6L6.5 5.5M6.9 6.6L6.5 5.5" },
  lawn_redone: { width: 8, height: 8, ground: ["#f7f8ec", "#2b2e1f"], mark: ["#a9ad6c", "#7d8149"], weight: 0.18, d: "M1 3L2.4 1.6M5 7L6.4 5.6" },
  bed: { width: 7, height: 7, ground: ["#f5ece1", "#33291f"], mark: ["#a98460", "#8d6c4a"], weight: 0.2, d: "M1.2 1.8h1.2M1.8 1.2v1.2M4.7 5.3h1.2M5.3 4.7v1.2" },
  bare_soil: { width: 5, height: 5, ground: ["#f6f0e6", "#2e2a22"], mark: ["#9a8664", "#87765a"], weight: 0.3, d: "M1 1h0.3M3.4 3.6h0.3M2.2 4.4h0.3M4.2 1.6h0.3" },
  gravel: { width: 4.4, height: 4.4, ground: ["#f3f2ef", "#2d2d2b"], mark: ["#8c8981", "#77756e"], weight: 0.16, d: ring(1, 1.1, 0.5) + ring(3.1, 2.2, 0.7) + ring(1.3, 3.4, 0.4) },
  concrete: { width: 8, height: 8, ground: ["#ececec", "#343636"], mark: ["#8a8a8a", "#7c7e7e"], weight: 0.18, d: "M1.5 2.4l0.9 0l-0.45 -0.8zM5.4 6.3l0.9 0l-0.45 -0.8zM4.6 1.5h0.2M6.8 3.2h0.2M2.2 5.4h0.2M3.6 7.2h0.2" },
  asphalt: { width: 3, height: 3, ground: ["#dcdcdc", "#3c3e3f"], mark: ["#777777", "#808384"], weight: 0.3, d: "M0.6 0.7h0.3M2.1 2.2h0.3" },
  pavers: { width: 5, height: 4, ground: ["#f1ebe6", "#362f2b"], mark: ["#b3a396", "#75685f"], weight: 0.16, d: "M0 0.1h5M0 2.1h5M0.1 0v2M2.6 2v2" },
  building: { width: 3, height: 3, ground: ["#e3e0dd", "#3b3b3a"], mark: ["#8d8780", "#767470"], weight: 0.16, d: "M-0.5 3.5L3.5 -0.5M-0.5 0.5L0.5 -0.5M2.5 3.5L3.5 2.5" },
  pool: { width: 6, height: 3.2, ground: ["#e3f0f6", "#1d3441"], mark: ["#6f9db3", "#5a8ba5"], weight: 0.18, d: "M0 1.6q1.5 -1.2 3 0t3 0" },
  boulder: { width: 2.4, height: 2.4, ground: ["#d5d2cd", "#454441"], mark: ["#77736c", "#8a877f"], weight: 0.18, d: "M0.2 1.2L1.2 0.4L2.2 1.4" },
  other: { width: 3, height: 3, ground: ["#eeeeee", "#2f3130"], mark: ["#8a8a8a", "#767876"], weight: 0.14, d: "M0 0L3 3M0 3L3 0" },
  steep: { width: 3.2, height: 4.2, ground: null, mark: ["#6b5a3c", "#b5a27c"], weight: 0.22, d: "M0.6 0.4L0.6 2.8M2.2 2.4L2.2 3.8" },
};

export const surfacePattern = (surface: unknown): string => (typeof surface === "string" && surface in PATTERNS ? surface : "other");

export const obstaclePattern = (obstacle: unknown): string =>
  obstacle === "pool" || obstacle === "boulder" || obstacle === "other" ? obstacle : "building";

const PAVED = new Set(["concrete", "asphalt", "pavers"]);
export const isPaved = (surface: unknown): boolean => typeof surface === "string" && PAVED.has(surface);

/** Marking colour and letter of a service, after the APWA uniform colour code in our own shades. */
const SERVICES: Record<string, [colour: string, letter: string]> = {
  electric: ["#d0021b", "E"], gas: ["#ffd500", "G"], communication: ["#f07800", "C"], potable_water: ["#0062c4", "W"],
  reclaimed_water: ["#7d2aa8", "R"], sewer: ["#128a2d", "S"],
};
export const service = (name: unknown): [string, string] => SERVICES[String(name)] ?? ["#777777", "?"];

/** Spare pressure by quarters of the outlets: from a little to much; the arc says the same by its length. */
export const SPARE: [light: string, dark: string][] = [
  ["#8a5a00", "#f0b95a"], ["#4f6f00", "#bcd66a"], ["#00706a", "#5fd0c4"], ["#1d4f91", "#8fb8ff"],
];

/** A colour made for white paper, turned so that it reads on dark paper. */
export function onPaper(colour: string, scheme: Scheme): string {
  if (!scheme.dark) return colour;
  const known = turned.get(colour);
  if (known !== undefined) return known;
  const match = /^#([0-9a-f]{2})([0-9a-f]{2})([0-9a-f]{2})$/i.exec(colour);
  if (match === null) return colour;
  const parts = [1, 2, 3].map((i) => parseInt(match[i]!, 16) / 255);
  const high = Math.max(...parts);
  const low = Math.min(...parts);
  const light = (high + low) / 2;
  // Lightness is mirrored, hue stays; what was dark ink becomes light ink.
  const wanted = Math.max(light, 0.92 - light * 0.9);
  const stretch = light === 0 ? 0 : Math.min((1 - Math.abs(2 * wanted - 1)) / (1 - Math.abs(2 * light - 1) || 1), 2.2);
  const out = parts.map((part) => Math.round(Math.min(1, Math.max(0, wanted + (part - light) * stretch)) * 255));
  const text = `#${out.map((part) => part.toString(16).padStart(2, "0")).join("")}`;
  turned.set(colour, text);
  return text;
}
const turned = new Map<string, string>();

/** Which scheme the page asks for: its switch, else the system's wish. */
export function schemeOfPage(): Scheme {
  const asked = document.documentElement.dataset.theme;
  const dark = asked === "dark" || (asked !== "light" && matchMedia("(prefers-color-scheme: dark)").matches);
  return dark ? DARK : LIGHT;
}

/** Calls `then` whenever the scheme may have changed; gives back how to stop. */
export function onScheme(then: () => void): () => void {
  const media = matchMedia("(prefers-color-scheme: dark)");
  media.addEventListener("change", then);
  const seen = new MutationObserver(then);
  seen.observe(document.documentElement, { attributes: true, attributeFilter: ["data-theme"] });
  return () => {
    media.removeEventListener("change", then);
    seen.disconnect();
  };
}
