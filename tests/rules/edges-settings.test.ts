/** Limits that a pot's setting moves: held as it is set, and looked at where its travel ends. */
import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { analysisOf, findingsOf } from "./limits.ts";

const RULE = "valve/plate-dissipation";

/** A 6L6GC with fixed bias from a pot; the sheet allows 30 W, design-maximum. */
const stage = (input: { minus: number; hotEnd: string; coldEnd?: string; at: number }) => `amp "Bias"
source B1 400V { plus: HT, minus: gnd }
source B2 ${input.minus}V { plus: gnd, minus: nB }
HT -- resistor R1 100R 20W wirewound -- p1
HT -- resistor R2 10k 5W metal-oxide 500V -- s1 -- resistor R3 22k 10W metal-oxide 500V -- gnd
valve V1 6L6GC { plate: p1, screen: s1, grid: g1, cathode: gnd }
g1 -- resistor R4 68k 0.5W metal-film -- bias
nB -- resistor R5 ${input.coldEnd ?? "1R"} 0.5W metal-film -- top
pot R6 10k lin 0.5W at ${input.at}% { top: top, wiper: bias, bottom: low }
low -- resistor R7 ${input.hotEnd} 0.5W metal-film -- gnd
`;
const watts = (text: string, mains: "nominal" | "high" = "high") =>
  analysisOf(text).solution("idle", mains)?.readings.get("V1.plate")?.watts ?? Number.NaN;
const told = (text: string) => findingsOf(text).filter(({ rule }) => rule === RULE);

describe("a bias pot", () => {
  it("is held as it is set, and its hot end told as advice where that would pass the limit", () => {
    const text = stage({ minus: 50, hotEnd: "1R", at: 90 });
    expect(watts(text)).toBeLessThan(30);
    const hot = watts(stage({ minus: 50, hotEnd: "1R", at: 0 }));
    expect(hot).toBeGreaterThan(30);
    const [found, ...more] = told(text);
    expect(more).toEqual([]);
    expect(found).toMatchObject({ severity: "advice", limit: 30, state: "idle", mains: "high" });
    // The same text with the pot turned there gives the same watts.
    expect(found.value).toBeCloseTo(hot, 6);
    expect(found.message).toContain("R6 turned to the hot end");
    expect(found.on).toEqual(["V1", "V1.plate", "R6"]);
  });

  it("is quiet where a resistor bounds the travel", () => {
    const text = stage({ minus: 50, hotEnd: "22k", at: 90 });
    expect(watts(stage({ minus: 50, hotEnd: "22k", at: 0 }))).toBeLessThan(30);
    expect(told(text)).toEqual([]);
  });

  it("changes from quiet to told where its hot end passes the limit, and not before", () => {
    const hotWatts = (ohms: number) => watts(stage({ minus: 50, hotEnd: `${ohms}R`, at: 0 }));
    let [over, within] = [1, 22e3];
    for (let step = 0; step < 25 && within - over > 1; step++) {
      const middle = (over + within) / 2;
      if (hotWatts(middle) > 30) over = middle;
      else within = middle;
    }
    expect(told(stage({ minus: 50, hotEnd: `${within + 5}R`, at: 90 }))).toEqual([]);
    expect(
      told(stage({ minus: 50, hotEnd: `${over - 5}R`, at: 90 })).map(({ severity }) => severity),
    ).toEqual(["advice"]);
  });

  it("set too hot is an error that says what the cold end gives", () => {
    const text = stage({ minus: 50, hotEnd: "1R", at: 5 });
    const [found] = told(text);
    expect(found.severity).toBe("error");
    expect(found.message).toContain("Turn R6 the cold way");
  });

  it("whose supply is too small is an error that says so", () => {
    const text = stage({ minus: 12, hotEnd: "1R", at: 50 });
    expect(watts(stage({ minus: 12, hotEnd: "1R", at: 100 }))).toBeGreaterThan(30);
    const [found] = told(text);
    expect(found.severity).toBe("error");
    expect(found.message).toContain("No setting of R6 brings it within");
  });

  it("of a sound sample is quiet at both ends of its travel", () => {
    const text = readFileSync(new URL("../../samples/brolga-35.ampnet", import.meta.url), "utf8");
    for (const at of [0, 35, 100]) {
      const turned = text.replace("at 35%", `at ${at}%`);
      expect(turned).toContain(`at ${at}%`);
      expect(told(turned)).toEqual([]);
    }
  });
});
