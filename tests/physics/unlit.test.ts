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
  return { analysis, volts, unlit: [...analysis.unlit()] };
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
