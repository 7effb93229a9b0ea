/** supply/standby on a switch that lets the heaters go cold. */
import { describe, expect, it } from "vitest";
import { told } from "../limits.ts";

const amp = ({
  primary = "live",
  heater = "h1",
  ht = "HT",
  more = "",
  duty = "mains",
}) => `mains 230 V 50 Hz UK
cord W1 1.0mm2 10A anchored { active: inA 60mm brown, neutral: inN 60mm blue, earth: inE 110mm green-yellow }
inE -- bond E1 own-fixing -- chassis
inA -- fuse F1 T1A 250V -- fused
fused -- switch S1 ${duty} 250V 6A -- live
transformer T1 80VA {
  primary 230V 14R             { ${primary} inN }
  ht      200-0-200V 100mA 90R { htA gnd htB }
  heater  6.3V 2A              { ${heater} gnd }
}
htA -- diode D1 1N4007 -- HT
htB -- diode D2 1N4007 -- HT
HT -- capacitor C1 47u 450V electrolytic -- gnd
HT -- resistor R9 220k 2W 500V -- gnd
${ht} -- resistor R1 100k 1W -- p1
valve V1 ECC83 { a { plate: p1, grid: g1, cathode: k1 } heater: h1 gnd parallel }
g1 -- resistor R2 1M 0.5W -- gnd
k1 -- resistor R3 1k5 0.5W -- gnd
${more}
`;
const of = (text: string, on = "S2") =>
  told(text, "supply/standby", on).map(({ severity, message }) => `${severity} ${message}`);

describe("supply/standby: heaters that go cold", () => {
  it.each([
    ["in the heaters' lead", amp({ heater: "h0", more: "h0 -- switch S2 standby 250V 6A -- h1" })],
    ["in the primary's lead", amp({ primary: "pri", more: "live -- switch S2 standby 250V 6A -- pri" })],
  ])("are told of a standby switch %s", (_, text) => {
    const [found, ...more] = of(text);
    expect(more).toEqual([]);
    expect(found).toMatch(
      /^advice S2 takes the heaters' volts away in standby: V1 goes cold \([\d.]+ V at idle, none in standby\)/,
    );
  });

  it.each([
    [
      "behind the reservoir",
      amp({ ht: "HTs", more: "HT -- switch S2 standby 250V dc 500V 3A -- HTs" }),
      "S2",
    ],
    ["that is all there is on the mains", amp({ duty: "standby" }), "S1"],
    ["of the mains itself", amp({}), "S1"],
  ])("are not told of a switch %s", (_, text, on) => {
    expect(of(text, on).filter((message) => message.includes("cold"))).toEqual([]);
  });
});

describe("supply/standby: a switch called one for the mains", () => {
  it.each([
    ["in the high tension", amp({ ht: "HTs", more: "HT -- switch S2 mains 250V 6A -- HTs" }), "HT"],
    ["in the heaters' lead", amp({ heater: "h0", more: "h0 -- switch S2 mains 250V 6A -- h1" }), "h0"],
  ])("is told where it stands %s", (_, text, net) => {
    expect(of(text)).toEqual([
      expect.stringContaining(`S2 is called a mains switch, and no mains comes to it: it breaks ${net}.`),
    ]);
  });

  it.each([
    ["in the primary's lead", amp({ primary: "pri", more: "live -- switch S2 mains 250V 6A -- pri" }), "S2"],
    ["behind the fuse", amp({}), "S1"],
    ["that nothing hangs on", amp({ more: "switch S2 mains 250V 6A { common: q1, on: q2 }" }), "S2"],
  ])("is not told of one %s", (_, text, on) => {
    expect(of(text, on)).toEqual([]);
  });
});
