/** Output valves out of a string of heaters. What is expected follows from Kirchhoff: no current, no heat; no valve current, no drop. */
import { describe, expect, it } from "vitest";
import { check } from "../../server/check.ts";

interface Wiring {
  /** What feeds the reservoir. */
  readonly rectifier: string;
  readonly heaters: Readonly<Record<"V1" | "V2", string>>;
  readonly more?: string;
}

/** A driver and an output valve of 150 mA heaters behind 112 V. */
const amplifier = ({ rectifier, heaters, more = "" }: Wiring) => `mains 117 V 60 Hz US
transformer T1 100VA {
  primary 117V 8R     { l n }
  s 112V 0.6A 6R      { a gnd }
  low 12.6V 0.15A 1R  { w gnd }
}
${rectifier}
valve V2 50C5 { plate: p2, screen: HT1, grid: g2, cathode: k2, heater: ${heaters.V2} }
valve V1 12AX7 {
  a { plate: p1, grid: g1, cathode: k1 }
  heater: ${heaters.V1} series
}
HT1 -- capacitor C1 50u 250V electrolytic -- gnd
HT1 -- resistor R1 220k 1W -- gnd
HT1 -- resistor R2 220k 0.5W -- p1
k1 -- resistor R3 1k5 0.5W -- gnd
g1 -- resistor R4 470k 0.5W -- gnd
p1 -- capacitor C2 10n 400V film -- g2
g2 -- resistor R5 470k 0.5W -- gnd
k2 -- resistor R6 150R 1W -- gnd
output-transformer T2 3W {
  plates 2k5 60mA 150R { p2 HT1 }
  speaker 4R           { sp gnd }
}
sp -- speaker LS1 4R 3W -- gnd
${more}`;

const silicon = "a -- diode D1 1N4007 -- HT1\n";
const found = (wiring: Wiring) => {
  const { analysis, circuit } = check("string.ampnet", amplifier(wiring));
  const volts = (state: "idle" | "pulled", net: string) =>
    analysis.solution(state, "nominal")!.volts[circuit.netByName.get(net)!];
  return { analysis, volts, unlit: [...analysis.unlit("pulled")] };
};

describe("output valves pulled out of a string of heaters", () => {
  it("leave the others cold: without plate current no drop stands over the plate's resistor", () => {
    const { volts, unlit } = found({
      rectifier: `${silicon}a -- resistor R9 330R 20W -- x1`,
      heaters: { V2: "x1 x2", V1: "x2 gnd" },
    });
    expect(unlit).toEqual(["V1"]);
    expect(volts("idle", "HT1") - volts("idle", "p1")).toBeGreaterThan(50);
    expect(volts("pulled", "p1")).toBeCloseTo(volts("pulled", "HT1"), 6);
    expect(volts("pulled", "k1")).toBe(0);
    // The reservoir feeds its bleeder alone, and stands near the crest of the winding.
    expect(volts("pulled", "HT1")).toBeGreaterThan(150);
  });

  it("take the rectifier valve of the string with them, at every mains level", () => {
    const { analysis, unlit, volts } = found({
      rectifier:
        "a -- resistor R8 47R 5W -- ap\nvalve V5 35W4 { plate: ap, cathode: HT1, heater: a x1 }\nx0 -- resistor R9 80R 5W -- x1",
      heaters: { V2: "x0 x2", V1: "x2 gnd" },
    });
    expect(unlit).toEqual(["V5", "V1"]);
    expect(volts("idle", "HT1")).toBeGreaterThan(100);
    for (const level of ["low", "nominal", "high"] as const)
      expect(analysis.solution("pulled", level)!.readings.get("C1")!.volts).toBeCloseTo(0, 3);
    // What is to be discharged is what stood there before the rectifier had cooled: as with its heater on a winding of its own.
    const apart = found({
      rectifier: "a -- resistor R8 47R 5W -- ap\nvalve V5 35W4 { plate: ap, cathode: HT1, heater: x1 gnd }",
      heaters: { V2: "x3 gnd", V1: "w gnd" },
      more: "source B1 50V { plus: x3, minus: gnd }\nsource B2 35V { plus: x1, minus: gnd }\n",
    });
    expect(apart.unlit).toEqual([]);
    const left = (of: typeof analysis) => of.discharge.get("high")!.out.get("C1")!.volts;
    expect(left(analysis) / left(apart.analysis)).toBeCloseTo(1, 2);
    expect(left(analysis)).toBeGreaterThan(150);
  });

  it("leave a capacitor to what the rectifier gives until it has cooled", () => {
    const { findings } = check(
      "string.ampnet",
      amplifier({
        rectifier:
          "a -- resistor R8 47R 5W -- ap\nvalve V5 35W4 { plate: ap, cathode: HT1, heater: a x1 }\nx0 -- resistor R9 80R 5W -- x1",
        heaters: { V2: "x0 x2", V1: "x2 gnd" },
      }).replace("250V", "150V"),
    );
    const told = findings.find(({ rule, on }) => rule === "rating/capacitor-voltage" && on.includes("C1"));
    expect(told?.message).toContain("while the rectifier is still warm");
    expect(told?.message).toContain("V5 and V1 go cold with them: their heaters are in one string.");
  });

  it("leave alone what hangs on a winding of its own, and a string that none of them is in", () => {
    for (const V1 of ["w gnd", "y gnd"]) {
      const { volts, unlit } = found({
        rectifier: `${silicon}a -- resistor R9 420R 20W -- x1\na -- resistor R10 660R 30W -- y`,
        heaters: { V2: "x1 gnd", V1 },
      });
      expect(unlit).toEqual([]);
      expect(volts("pulled", "HT1") - volts("pulled", "p1")).toBeGreaterThan(50);
    }
  });

  it("is so of a string on direct current too", () => {
    const { unlit } = found({
      rectifier: silicon,
      heaters: { V2: "x1 x2", V1: "x2 gnd" },
      more: "source B1 62.6V { plus: x1, minus: gnd }\n",
    });
    expect(unlit).toEqual(["V1"]);
  });

  it("is told where a rule reports that state", () => {
    // The dropper takes no volts when no current flows: the driver's heater then stands at the winding's.
    const { findings } = check(
      "string.ampnet",
      amplifier({
        rectifier: `${silicon}a -- resistor R9 780R 30W -- x1`,
        heaters: { V1: "x1 x2", V2: "x2 gnd" },
      }).replace("112V", "180V"),
    );
    const told = findings.filter(({ state }) => state === "pulled").map(({ message }) => message);
    expect(told.join("\n")).toContain("V1 goes cold with them: its heater is in one string with theirs.");
  });
});

/** A driver and an output valve on 6.3 V; what the switch breaks is written by each test. */
const behindSwitch = (more: string, heaters: { V1?: string; V2?: string } = {}) => {
  const { V1 = "h1 gnd", V2 = "h1 gnd" } = heaters;
  const { analysis, circuit, findings } = check(
    "standby.ampnet",
    `mains 230 V 50 Hz
transformer T1 80VA {
  primary 230V 14R            { l n }
  ht 250-0-250V 100mA 160R    { a ct c }
  h  6.3V 3A 0.05R            { h0 gnd }
}
valve V2 EL84 { plate: p2, screen: HT, grid: g2, cathode: k2, heater: ${V2} }
valve V1 ECC83 {
  a { plate: p1, grid: g1, cathode: k1 }
  heater: ${V1} parallel
}
HT -- capacitor C1 47u 450V electrolytic -- gnd
HT -- resistor R1 220k 2W 500V -- gnd
HT -- resistor R2 220k 0.5W -- p1
k1 -- resistor R3 1k5 0.5W -- gnd
g1 -- resistor R4 470k 0.5W -- gnd
g2 -- resistor R5 470k 0.5W -- gnd
k2 -- resistor R6 150R 3W -- kk
output-transformer T2 8W {
  plates 5k 60mA 250R { p2 HT }
  speaker 8R          { sp gnd }
}
sp -- speaker LS1 8R 10W -- gnd
${more}`,
  );
  const volts = (state: "idle" | "standby", net: string) =>
    analysis.solution(state, "nominal")!.volts[circuit.netByName.get(net)!];
  return { unlit: [...analysis.unlit("standby")].sort(), volts, findings, analysis };
};
const siliconPair = "a -- diode D1 1N4007 -- HT\nc -- diode D2 1N4007 -- HT\nct -- wire -- gnd\n";
const closed = "h0 -- wire -- h1\nkk -- wire -- gnd\n";
const standbyIn = (from: string, to: string) => `${from} -- switch S1 standby 250V 6A dc 600V -- ${to}\n`;

describe("heaters behind an open standby switch", () => {
  it("are cold in standby: the valves draw nothing, and the supply stands unloaded", () => {
    const { unlit, volts } = behindSwitch(`${siliconPair}kk -- wire -- gnd\n${standbyIn("h0", "h1")}`);
    expect(unlit).toEqual(["V1", "V2"]);
    expect(volts("idle", "k2")).toBeGreaterThan(5);
    expect(volts("standby", "k2")).toBe(0);
    expect(volts("standby", "p1")).toBeCloseTo(volts("standby", "HT"), 6);
    expect(volts("standby", "HT")).toBeGreaterThan(1.05 * volts("idle", "HT"));
  });

  it("are those that hang behind it alone", () => {
    const { unlit, volts } = behindSwitch(`${siliconPair}kk -- wire -- gnd\n${standbyIn("h0", "h1")}`, {
      V1: "h0 gnd",
    });
    expect(unlit).toEqual(["V2"]);
    expect(volts("standby", "HT") - volts("standby", "p1")).toBeGreaterThan(20);
  });

  it("take a rectifier valve with them: it leaves the reservoir empty", () => {
    const { unlit, volts } = behindSwitch(
      `valve V5 EZ81 { plate1: a, plate2: c, cathode: HT, heater: h1 gnd }\nct -- wire -- gnd\nkk -- wire -- gnd\n${standbyIn("h0", "h1")}`,
    );
    expect(unlit).toEqual(["V1", "V2", "V5"]);
    expect(volts("idle", "HT")).toBeGreaterThan(200);
    expect(volts("standby", "HT")).toBeLessThan(0.1);
  });

  it("go cold where they live on the cathode current of valves that lose their high tension", () => {
    // 12.6 V at 150 mA is 84 ohms; the EL84's 45 mA give it a few volts, which is what it has.
    const tail = "kk -- wire -- t1\n";
    const { unlit, volts } = behindSwitch(
      `a -- diode D1 1N4007 -- HT\nc -- diode D2 1N4007 -- HT\nh0 -- wire -- h1\n${tail}${standbyIn("ct", "gnd")}`,
      { V1: "t1 gnd" },
    );
    expect(volts("idle", "t1")).toBeGreaterThan(0.5);
    expect(unlit).toEqual(["V1"]);
  });

  it("keep their heat where it breaks the high tension alone", () => {
    const { unlit } = behindSwitch(
      `a -- diode D1 1N4007 -- HT\nc -- diode D2 1N4007 -- HT\n${closed}${standbyIn("ct", "gnd")}`,
    );
    expect(unlit).toEqual([]);
  });

  it("are named where a limit of that state is told, and held to no limit of a warm valve there", () => {
    const { findings } = behindSwitch(`${siliconPair}kk -- wire -- gnd\n${standbyIn("h0", "h1")}`);
    const told = findings.filter(({ state }) => state === "standby");
    for (const { rule } of told) expect(rule).not.toMatch(/^valve\//);
    expect(findings.find(({ rule }) => rule === "supply/standby")?.message).toContain("V2 and V1 go cold");
  });
});
