/** Values that the table of a kind does not take as they stand: what is said of them, and what is meant. */
import { describe, expect, it } from "vitest";
import { circuitOf } from "./helpers.ts";

const messages = (line: string) => circuitOf(`${line}\n`).problems.map(({ message }) => message);
const part = (line: string, reference: string) => circuitOf(`${line}\n`).partByReference.get(reference);

describe("direct volts", () => {
  it("are told by their unit as by the word", () => {
    for (const dc of ["dc 600V", "600VDC", "600 Vdc"]) {
      expect(messages(`a -- switch S1 standby 250V ${dc} -- b`)).toEqual([]);
      expect(part(`a -- switch S1 standby 250V ${dc} -- b`, "S1")).toMatchObject({
        volts: { value: 250 },
        voltsDirect: { value: 600 },
      });
    }
    // Where a kind draws no line between the two, the number counts.
    expect(part("a -- capacitor C1 22u 450VDC electrolytic -- b", "C1")).toMatchObject({
      volts: { value: 450 },
    });
  });
  it("are offered with the word that they lack, and not with the one that they have", () => {
    expect(messages("a -- switch S1 standby 250V working 600V -- b")[0]).toMatch(
      /working 600V is one too many\. Say which with a word: dc 600V \(dc voltage\)\.$/,
    );
  });
});

describe("a fuse's current", () => {
  it.each([
    ["T500 mA", 0.5, "T"],
    ["T2 A", 2, "T"],
    ["F315 mA", 0.315, "F"],
  ])("%s may have a blank before its unit", (written, amps, character) => {
    expect(messages(`a -- fuse F1 ${written} 250V -- b`)).toEqual([]);
    expect(part(`a -- fuse F1 ${written} 250V -- b`, "F1")).toMatchObject({
      amps: { value: amps },
      character,
    });
  });
  it.each([
    ["400", "400mA"],
    ["2", "2A"],
  ])("%s has no unit", (written, meant) => {
    const [problem] = circuitOf(`a -- fuse F1 ${written} 250V -- b\n`).problems;
    expect(problem.message).toBe(
      `F1: ${written} has no unit. Did you mean ${meant}? With its letter it says how quick it is: T${meant}.`,
    );
    expect(problem.fix?.text).toBe(meant);
  });
  it("says of any other bare number that it has no unit", () => {
    expect(messages("a -- lamp LP1 6.3V 5 -- b")[0]).toMatch(/^LP1: 5 has no unit\. Expected /);
  });
});
