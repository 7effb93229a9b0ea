import { describe, expect, it } from "vitest";
import { check } from "../../../server/check.ts";

const text = (jack: string, feed: string) => `amp "Plugs"
source B1 300V { plus: HT, minus: gnd }
HT -- resistor R5 100k 1W 350V -- p1
valve V1 ECC83 { a { plate: p1, grid: g1, cathode: k1 } }
k1 -- resistor R6 1k5 0.5W -- gnd
g1 -- resistor R1 1M 0.5W -- gnd
${feed}
jack J1 { ${jack}, sleeve: gnd }
`;
const told = (jack: string, feed = "") =>
  check("plugs.ampnet", text(jack, feed)).findings.filter(({ rule }) => rule === "earth/touch-voltage");

describe("a jack whose break contact holds its tip down", () => {
  // By Ohm's law: 300 V over 47 k into whoever touches it is 6 mA, and the whole 300 V open.
  const feed = "HT -- resistor R9 47k 2W 500V -- t";
  it("stands at the HT as soon as a plug is in it", () => {
    const [found, ...others] = told("tip: t, tip-break: gnd", feed);
    expect(others).toEqual([]);
    expect(found.message).toContain("J1's tip stands at 300 V");
    expect(found.message).toContain("as soon as a plug opens the break contact");
    expect(told("tip: t", feed)[0]?.message).not.toContain("plug opens");
  });
  it("is quiet where a resistor of its own holds it, and on an ordinary input", () => {
    expect(told("tip: t, tip-break: gnd", `${feed}\nt -- resistor R10 4k7 1W 350V -- gnd`)).toEqual([]);
    expect(told("tip: g1, tip-break: gnd")).toEqual([]);
  });
});
