/** A net that a block was not given is the block's own: language.md, "use … as N", says so, and a reader forgets it. */
import { describe, expect, it } from "vitest";
import { findingsOf } from "../mains/told.ts";

const text = (given: string, passed: string) => `amp "Case"
source B1 300V { plus: HT1, minus: gnd }
block stage(in, out${given}) {
  HT1 -- resistor RA 100k 1W 500V -- out
  HT1 -- capacitor CA 22n 630V film -- gnd
  out -- capacitor CB 22n 630V film -- gnd
  in -- resistor RB 1M 0.5W 350V -- mid
}
use stage(x1, y1${passed}) as L
use stage(x2, y2${passed}) as R
x1 -- resistor R1 1M 0.5W 350V -- gnd
x2 -- resistor R2 1M 0.5W 350V -- gnd
y1 -- resistor R3 1M 0.5W 350V -- y3
y2 -- resistor R4 1M 0.5W 350V -- y4
`;
const messages = (netlist: string, rule: string) =>
  findingsOf(netlist)
    .filter((one) => one.rule === rule)
    .map(({ message }) => message);

describe("a net of a block's own with a namesake outside", () => {
  it("is told as what it is, once for all copies", () => {
    const floating = messages(text("", ""), "circuit/no-dc-path");
    expect(floating).toHaveLength(1);
    expect(floating[0]).toContain("L.HT1 is a net of the block's own, and not the HT1 outside");
    expect(floating[0]).toContain("write HT1 among the nets that the block is given");
  });

  it("is told once of both copies where something joins them", () => {
    const joined = `${text("", "")}y1 -- resistor R5 1M 0.5W 350V -- y2\n`;
    expect(messages(joined, "circuit/no-dc-path")).toEqual([
      expect.stringContaining("L.HT1 and R.HT1 are nets of the block's own, and not the HT1 outside"),
    ]);
  });

  it("is quiet once it is passed in, and a name that only the block has gets the usual words", () => {
    const passed = text(", HT1", ", HT1");
    expect(messages(passed, "circuit/no-dc-path")).toEqual([]);
    const [single] = messages(passed, "circuit/single-use-net");
    expect(single).toContain("The net L.mid is named only here");
    expect(single).not.toContain("block's own");
  });

  it("named once is not taken for a slip of another name", () => {
    const netlist = `amp "Case"
source B1 6.3V { plus: h1, minus: gnd }
block lamp(a) {
  a -- lamp LP1 6.3V 0.3A -- h1
}
use lamp(gnd) as P
h1 -- resistor R1 1k 1W -- gnd
`;
    const [found] = findingsOf(netlist).filter(({ rule }) => rule === "circuit/single-use-net");
    expect(found.message).toContain("P.h1 is a net of the block's own, and not the h1 outside");
    expect(found.message).not.toContain("Meant");
    expect(found.fix).toBeUndefined();
  });
});
