import { describe, expect, it } from "vitest";
import { check } from "../../../server/check.ts";

const head = `amp "Dead supply"
transformer T1 60VA {
  primary 230V 20R            { a b }
  ht      250-0-250V 80mA 200R { x gnd y }
  rect    5V 3A 0.04R         { RECT }
}
`;
const body = `valve V3 5U4GB { plate1: x, plate2: y, cathode: RK, heater: RK f2 }
RK -- capacitor C1 32u 600V film -- gnd
RK -- resistor R1 220k 3W metal-oxide 500V -- gnd
RK -- resistor R2 390R 5W wirewound -- HT1
HT1 -- capacitor C2 32u 600V film -- gnd
HT1 -- resistor R3 220k 3W metal-oxide 500V -- gnd
HT1 -- resistor R4 22k 2W metal-oxide -- HT2
HT2 -- capacitor C3 22u 600V film -- gnd
HT2 -- resistor R5 100k 1W metal-film -- p1
valve V1 ECC83 { a { plate: p1, grid: g1, cathode: k1 } }
g1 -- resistor R6 1M 0.5W -- gnd
k1 -- resistor R7 1k5 0.5W -- gnd
HT1 -- resistor R8 1k 2W metal-oxide -- s2
valve V2 6L6GC { plate: p2, screen: s2, grid: g2, cathode: k2 }
g2 -- resistor R9 220k 0.5W -- gnd
k2 -- resistor R10 390R 5W wirewound -- gnd
output-transformer T2 12W { plates 4k2 80mA 180R { p2 HT1 }, speaker 8R 0.5R { spk gnd } }
spk -- speaker LS1 8R 15W -- gnd
`;
const sound = head.replace("RECT", "RK f2") + body;
const told = (text: string) =>
  check("dead.ampnet", text).findings.filter(({ rule }) => rule === "supply/no-high-tension");
const messages = (text: string) => told(text).map(({ message }) => message);

describe("no high tension", () => {
  it("is not told of a sound amplifier", () => {
    expect(messages(sound)).toEqual([]);
  });

  it("is told once for all that hangs on a dropper that was left out, with the supply that there is", () => {
    const [found, ...others] = told(sound.replace(/^RK -- resistor R2 .*\n/m, ""));
    expect(others).toEqual([]);
    expect(found.message).toMatch(
      /^No high tension comes to V1\.a and V2: the plates and screens have 0 V at idle\./,
    );
    // By hand: the peak of 250 V rms and what the winding gives without load, less next to nothing in the valve.
    expect(found.message).toMatch(
      /HT1 and HT2 hang together, and nothing leads there from RK \(3[5-9]\d V\)/,
    );
    expect(found.on).toEqual(expect.arrayContaining(["V1", "V2", "HT1", "HT2"]));
  });

  it("tells a heater winding that holds the rectifier's cathode at common, ahead of the currents that flow", () => {
    const { findings } = check("dead.ampnet", head.replace("RECT", "RK gnd") + body);
    const found = findings.find(({ rule }) => rule === "supply/no-high-tension");
    expect(found?.message).toContain("V3 feeds it, and T1.rect holds it at common");
    expect(findings.find(({ rule }) => rule === "supply/winding-current")?.follows).toBe(
      "supply/no-high-tension",
    );
  });

  it("follows a slip of a name that leaves it dead, on the mains side too", () => {
    const fed = sound.replace("{ a b }", "{ live inN }\n");
    const mains = `mains 230 V 50 Hz UK
cord W1 1.0mm2 10A anchored { active: inA 60mm brown, neutral: inN 60mm blue, earth: inE 130mm green-yellow }
inE -- bond E1 own-fixing -- chassis
gnd -- bond E2 own-fixing -- chassis
inA -- fuse F1 T400mA 250V -- `;
    expect(messages(`${fed}${mains}live\n`)).toEqual([]);
    expect(told(`${fed}${mains}lvie\n`).map(({ follows }) => follows)).toEqual(["circuit/single-use-net"]);
  });

  it("tells a plate whose transformer was joined to common", () => {
    expect(messages(sound.replace("{ p2 HT1 }", "{ p2 gnd }"))).toEqual([
      "No high tension comes to V2: the plate has 0 V at idle. T2 leads to circuit common where the supply belongs.",
    ]);
  });

  it("tells a screen alone", () => {
    expect(messages(sound.replace("HT1 -- resistor R8", "gnd -- resistor R8"))).toEqual([
      "No high tension comes to V2: the screen has 0 V at idle. R8 leads to circuit common where the supply belongs.",
    ]);
  });

  it("tells a supply that is the wrong way round", () => {
    const text = sound
      .replace(
        /^valve V3.*$/m,
        "RK -- diode D1 1N4007 -- x\nRK -- diode D2 1N4007 -- y\nf2 -- resistor R20 1k 1W -- RK",
      )
      .replace("RK f2", "f2 f3");
    expect(messages(text)[0]).toContain("The supply is the wrong way round");
  });

  it.each([
    ["a section put to rest on common", "b { plate: gnd, grid: gnd, cathode: gnd }"],
    ["a section used as a diode", "b { plate: kd, grid: kd, cathode: gnd }"],
  ])("is quiet on %s", (_what, section) => {
    expect(messages(sound.replace("cathode: k1 }", `cathode: k1 }\n  ${section}`))).toEqual([]);
  });

  it("is quiet on what a switch cuts off in its first position, and without any supply", () => {
    const switched = sound.replace(
      "HT2 -- resistor R5",
      "switch S2 channel { common: HT2, 1: spare, 2: HT3 }\nspare -- resistor R30 1M 0.5W 500V -- gnd\nHT3 -- resistor R31 1M 0.5W 500V -- gnd\nHT3 -- resistor R5",
    );
    expect(messages(switched)).toEqual([]);
    expect(
      messages(
        sound.replace(/^transformer[^}]*\}[^}]*\}[^}]*\}[^}]*\}\n/m, "").replace(/^valve V3.*\n/m, ""),
      ),
    ).toEqual([]);
  });
});
