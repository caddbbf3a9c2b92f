import { describe, expect, it } from "vitest";
import { DARK, LIGHT, onPaper, PATTERNS, SPARE, service } from "../../src/drawing/palette";
import { pictureOf, pictureScale, SYMBOLS } from "../../src/drawing/symbols";
import { prefixOf } from "../../src/drawing/edits";

const channel = (value: number) => (value <= 0.03928 ? value / 12.92 : ((value + 0.055) / 1.055) ** 2.4);
const brightness = (colour: string) => [1, 3, 5].map((i) => channel(parseInt(colour.slice(i, i + 2), 16) / 255)).reduce((sum, part, i) => sum + part * [0.2126, 0.7152, 0.0722][i]!, 0);
const contrast = (a: string, b: string) => {
  const [high, low] = [brightness(a), brightness(b)].sort((x, y) => y - x) as [number, number];
  return (high + 0.05) / (low + 0.05);
};

describe("colours of the drawing", () => {
  it("can be read on both papers and on every ground", () => {
    for (const scheme of [LIGHT, DARK]) {
      for (const words of [scheme.ink, scheme.muted, scheme.accent, scheme.bad, scheme.decision]) {
        expect(contrast(words, scheme.paper), `${words} on ${scheme.paper}`).toBeGreaterThanOrEqual(4.5);
      }
      for (const [name, pattern] of Object.entries(PATTERNS)) {
        if (pattern.ground) expect(contrast(scheme.ink, pattern.ground[scheme.dark ? 1 : 0]), name).toBeGreaterThanOrEqual(7);
      }
    }
  });

  it("shows trenches of every method on dark paper", () => {
    for (const colour of ["#111111", "#3a2a10", "#26304a", "#3a1030", "#003c55", "#00605c", "#30305c", "#7a3b00", "#444444"]) {
      expect(onPaper(colour, LIGHT)).toBe(colour);
      expect(contrast(onPaper(colour, DARK), DARK.paper), colour).toBeGreaterThanOrEqual(4.5);
    }
    expect(onPaper("rebeccapurple", DARK)).toBe("rebeccapurple");
  });

  it("tells spare pressure apart from the paper in both schemes", () => {
    for (const [light, dark] of SPARE) {
      expect(contrast(light, LIGHT.paper)).toBeGreaterThanOrEqual(4.5);
      expect(contrast(dark, DARK.paper)).toBeGreaterThanOrEqual(4.5);
    }
  });

  it("has a letter of its own for each service", () => {
    const letters = ["electric", "gas", "communication", "potable_water", "reclaimed_water", "sewer"].map((name) => service(name)[1]);
    expect(new Set(letters).size).toBe(6);
    expect(service("something new")[1]).toBe("?");
  });
});

describe("symbols", () => {
  const kinds = ["boundary", "surface", "obstacle", "tree", "utility", "soil", "steep", "spot", "gate", "access", "mark", "baseline", "source", "backflow", "controller", "circuit", "manifold", "valve", "head", "drip", "cable", "sleeve", "keep_out", "corridor", "fixed_trench"];

  it("differ from kind to kind, and so do the letters of their ids", () => {
    expect(new Set(kinds.map((kind) => JSON.stringify(pictureOf(kind)))).size).toBe(kinds.length);
    expect(new Set(kinds.map(prefixOf)).size).toBe(kinds.length);
  });

  it("fit into their picture", () => {
    for (const kind of kinds) expect(pictureScale(kind) * (SYMBOLS[kind]?.radius ?? 2.8)).toBeLessThanOrEqual(3.2);
    expect(pictureOf("a kind of a newer program").length).toBeGreaterThan(0);
  });
});
