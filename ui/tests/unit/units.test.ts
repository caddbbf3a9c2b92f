import { describe, expect, it } from "vitest";
import { bareNumber, placeOf, readAngle, readEntry, readLength, writeAngle, writeArea, writeLength, writeTurn, writeWay, withUnit } from "../../src/lib/units";
import { seeded } from "./seeded";

const length = (text: string, unit: "ft" | "m" = "ft") => {
  const read = readLength(text, unit);
  if (!read.ok) throw new Error(`${text}: ${read.what}`);
  return read.value;
};

describe("lengths as people type them", () => {
  it.each([
    [`62'6"`, 62.5], [`62' 6 1/2"`, 62 + 6.5 / 12], [`62'-6"`, 62.5], [`62' 6`, 62.5], ["62.5", 62.5], ["3 ft 4 in", 3 + 4 / 12], [`12"`, 1], [`1/2"`, 0.5 / 12],
    [`6-1/2"`, 6.5 / 12], ["1 yd", 3], ["-4", -4], ["−4'", -4], [".5", 0.5], ["15 FT", 15], ["2 feet 3 inches", 2.25], ["62’6”", 62.5], ["30.48 cm", 1],
  ])("%s in feet", (text, feet) => expect(length(text)).toBeCloseTo(feet, 8));

  it.each([["19.05", 19.05], ["19.05 m", 19.05], ["40cm", 0.4], ["1 m 20 cm", 1.2], ["250 mm", 0.25], [`12"`, 0.3048], [`1'`, 0.3048], ["1,5", NaN]])("%s in metres", (text, metres) => {
    if (Number.isNaN(metres)) expect(readLength(text, "m").ok).toBe(false);
    else expect(length(text, "m")).toBeCloseTo(metres, 9);
  });

  it("keeps a plain number to the last digit", () => {
    const random = seeded(1);
    for (let i = 0; i < 200; i += 1) {
      const value = Number((random() * 1000).toFixed(4));
      expect(length(String(value))).toBe(value);
      expect(length(`${value} m`, "m")).toBe(value);
    }
  });

  it.each([
    ["", "there is no length"], ["abc", "is not a length"], ["12 furlongs", "is not a unit"], ["4 in 3 ft", "wrong order"], ["3 4", "without its unit"], ["1/0", "parted by 0"], ["19,05", "comma"],
    ["1e99999", "unit"], ["99999999999", "too long"], [`5' 6' 2"`, "wrong order"], ["--3", "is not a length"],
  ])("refuses %s and says why", (text, why) => {
    const read = readLength(text, "ft");
    expect(read.ok).toBe(false);
    if (!read.ok) {
      expect(read.what).toContain(why);
      expect(read.mend).not.toBe("");
    }
  });

  it("reads back what it writes", () => {
    const random = seeded(7);
    for (let i = 0; i < 500; i += 1) {
      const eighths = Math.floor(random() * 20000) + 1;
      const feet = eighths / 96;
      expect(length(writeLength(feet, "ft", "us"))).toBeCloseTo(feet, 8);
      const metres = Math.floor(random() * 100000) / 100;
      expect(length(writeLength(metres, "m", "si"), "m")).toBeCloseTo(metres, 8);
    }
  });

  it("never throws, whatever is typed", () => {
    const random = seeded(11);
    const letters = `0123456789'"./-<°, ftincmNE@x;`;
    for (let i = 0; i < 5000; i += 1) {
      const text = Array.from({ length: Math.floor(random() * 12) }, () => letters[Math.floor(random() * letters.length)]).join("");
      for (const unit of ["ft", "m"] as const) {
        const read = readEntry(text, unit);
        if (read.ok && read.value.kind === "length") expect(Number.isFinite(read.value.length)).toBe(true);
      }
    }
  });
});

describe("lengths as they are shown", () => {
  it.each([[0, `0"`], [1, `1'`], [1.5, `1' 6"`], [0.5 / 12, `1/2"`], [11.999, `12'`], [62 + 6.5 / 12, `62' 6 1/2"`], [-2.25, `−2' 3"`], [0.25 / 12, `1/4"`]])("%s ft", (feet, text) =>
    expect(writeLength(feet, "ft", "us")).toBe(text));

  it("turns units", () => {
    expect(writeLength(1, "m", "us")).toBe(`3' 3 3/8"`);
    expect(writeLength(10, "ft", "si")).toBe("3.05 m");
    expect(writeArea(100, "ft", "us")).toBe("100 sq ft");
    expect(writeArea(100, "m", "si")).toBe("100.0 m²");
    expect(writeAngle(-90)).toBe("270°");
    expect(writeAngle(359.99)).toBe("0°");
  });
});

describe("angles", () => {
  it.each([["45", 45, false], ["45°", 45, false], ["-30", -30, false], ["<90", 90, true], ["< -45°", -45, true], ["N30E", 60, false], ["s 10 w", 260, false], ["N0E", 90, false]])("%s", (text, degrees, relative) =>
    expect(readAngle(text)).toEqual({ ok: true, value: { degrees, relative } }));
  it.each(["", "x", "N100E", "400", "45 45", "NE"])("refuses %s", (text) => expect(readAngle(text).ok).toBe(false));
});

describe("what is typed while drawing", () => {
  const entry = (text: string) => {
    const read = readEntry(text, "ft");
    if (!read.ok) throw new Error(read.what);
    return read.value;
  };

  it("tells lengths, turns and places apart", () => {
    expect(entry(`15'6"`)).toEqual({ kind: "length", length: 15.5 });
    expect(entry(`15'6" < 90`)).toEqual({ kind: "vector", length: 15.5, angle: { degrees: 90, relative: true } });
    expect(entry("10 at 45")).toEqual({ kind: "vector", length: 10, angle: { degrees: 45, relative: false } });
    expect(entry("< 90")).toEqual({ kind: "angle", angle: { degrees: 90, relative: true } });
    expect(entry("N30E")).toEqual({ kind: "angle", angle: { degrees: 60, relative: false } });
    expect(entry(`12, 7'6"`)).toEqual({ kind: "place", at: [12, 7.5] });
    expect(readEntry("1,2,3", "ft").ok).toBe(false);
    expect(readEntry("-5", "ft").ok).toBe(false);
  });

  it("leads to places", () => {
    expect(placeOf(entry("5"), [1, 1], null, [1, 9])).toEqual([1, 6]);
    expect(placeOf(entry("5 < 90"), [10, 0], [0, 0], [0, 0])).toEqual([10, 5]);
    expect(placeOf(entry("5 < -90"), [10, 0], [0, 0], [0, 0])).toEqual([10, -5]);
    expect(placeOf(entry("5 at 180"), [10, 0], [0, 0], [0, 0])).toEqual([5, 0]);
    expect(placeOf(entry("5"), null, null, [1, 1])).toBeNull();
    expect(placeOf(entry("3, 4"), null, null, [1, 1])).toEqual([3, 4]);
    expect(placeOf(entry("< 90"), [10, 0], [0, 0], [12, 7])).toEqual([10, 7]);
  });

  it("keeps to the length for any direction", () => {
    const random = seeded(3);
    for (let i = 0; i < 300; i += 1) {
      const [from, before, toward] = Array.from({ length: 3 }, () => [random() * 100, random() * 100] as [number, number]);
      const size = random() * 50 + 0.1;
      const at = placeOf({ kind: "vector", length: size, angle: { degrees: random() * 720 - 360, relative: random() < 0.5 } }, from!, before!, toward!)!;
      expect(Math.hypot(at[0] - from![0], at[1] - from![1])).toBeCloseTo(size, 7);
    }
  });
});

describe("a bare number", () => {
  it("takes the unit of the example", () => {
    expect(withUnit("60", "62 psi")).toBe("60 psi");
    expect(withUnit(" 1.5 ", "1.8 gpm")).toBe("1.5 gpm");
    expect(withUnit(".5", "1.5 in/h")).toBe(".5 in/h");
    expect(withUnit("-3", "100 ft")).toBe("-3 ft");
    expect(withUnit("8", "10 %")).toBe("8 %");
    for (const size of ["1", "3/4", "1 1/4", "1-1/4"]) expect(withUnit(size, "3/4 in")).toBe(`${size} in`);
  });

  it("stays as it is where a unit stands, or the example has none", () => {
    for (const typed of ["60 psi", "4 bar", "60psi", "1'", "", "about 60", "3/4 in"]) expect(withUnit(typed, "62 psi")).toBe(typed);
    for (const sample of ["0.5", "", "Front lawn", "pop-up head, 4 in", "2 psi at 5 gpm, 5 psi at 10 gpm", "main, wire"]) expect(withUnit("60", sample)).toBe("60");
  });

  it("is read without a currency sign and commas between thousands", () => {
    expect(["$62", "€ 4.50", "£1,250", "1,250,000.5", "-$3", "62"].map(bareNumber)).toEqual(["62", "4.50", "1250", "1250000.5", "-3", "62"]);
    expect(["4,5", "12,50", "1,2345", "$", "free", "18 in"].map(bareNumber)).toEqual(["4,5", "12,50", "1,2345", "", "free", "18 in"]);
  });
});

describe("a way in the words of the field", () => {
  it.each([[0, "0°"], [90, "90°"], [180, "180°"], [-30, "−30°"], [330, "−30°"], [359.96, "0°"], [180.04, "180°"], [-179.5, "−179.5°"]])("turns by %s", (turn, text) => expect(writeTurn(turn)).toBe(text));

  it("says length, direction and turn, and the field takes each back", () => {
    const random = seeded(4);
    for (let i = 0; i < 200; i += 1) {
      const [before, from, to] = Array.from({ length: 3 }, () => [random() * 90, random() * 90] as [number, number]) as [[number, number], [number, number], [number, number]];
      const towards = (a: [number, number], b: [number, number]) => (Math.atan2(b[1] - a[1], b[0] - a[0]) * 180) / Math.PI;
      const far = Math.hypot(to[0] - from[0], to[1] - from[1]);
      const said = writeWay(far, towards(from, to), towards(before, from), "ft", "us");
      const [, length = "", direction = "", turn = ""] = /^(.*) @ (.*) or < (.*)$/.exec(said) ?? [];
      for (const typed of [`${length} @ ${direction}`, `${length} < ${turn}`, `${length}@${direction}`, `${length}<${turn}`]) {
        const read = readEntry(typed, "ft");
        if (!read.ok) throw new Error(`${typed}: ${read.what}`);
        const at = placeOf(read.value, from, before, [0, 0])!;
        // An eighth of an inch and a tenth of a degree are what is written.
        expect(Math.hypot(at[0] - to[0], at[1] - to[1]), typed).toBeLessThan(0.01 + far * 0.001);
      }
    }
    expect(writeWay(20, 90, null, "ft", "us")).toBe("20' @ 90°");
  });

  it("takes a direction alone", () => {
    expect(readEntry("@ 45", "ft")).toEqual({ ok: true, value: { kind: "angle", angle: { degrees: 45, relative: false } } });
    expect(readEntry("15'6\" @ N30E", "ft")).toMatchObject({ ok: true, value: { kind: "vector", length: 15.5, angle: { degrees: 60, relative: false } } });
    expect(readEntry("15 @ round", "ft")).toMatchObject({ ok: false });
  });
});
