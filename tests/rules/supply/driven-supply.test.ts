/**
 * What full drive makes of a supply that feeds more than the output valves: held to the same supply solved anew with the driven
 * current as a plain load, its rectifier's solution being held to an outside ODE integrator (tests/physics/supply-odex.test.ts).
 */
import { describe, expect, it } from "vitest";
import { check } from "../../../server/check.ts";
import { addedAmps, drivenSupply, drivenVoltAmperes } from "../../../server/rules/supply/driven.ts";

const transformer = `transformer T1 300VA {
  primary 230V 2R4      { live inN }
  ht      WINDING
  heater  6.3V 4A 0.03R { h1 h2 }
}
h1 -- resistor R1 100R 0.5W 350V -- gnd
h2 -- resistor R2 100R 0.5W 350V -- gnd
`;
const cord = `mains 230 V 50 Hz UK
cord W1 1.0mm2 10A anchored { active: inA 60mm brown, neutral: inN 60mm blue, earth: inE 130mm green-yellow }
inE -- bond E1 own-fixing -- chassis
gnd -- bond E2 own-fixing -- chassis
inA -- fuse F1 T2A 250V H -- fused
fused -- switch S1 mains 250V 10A -- live
`;
const supplies = {
  bridge: {
    winding: "330V 1A 20R { a b }",
    parts: `bridge BR1 1000V 3A { ac1: a, ac2: b, plus: HT, minus: gnd }
HT -- capacitor C1 100u 600V film -- gnd
`,
  },
  doubler: {
    winding: "165V 2A 5R { a b }",
    parts: `a -- diode D1 1N5408 -- HT
gnd -- diode D2 1N5408 -- a
HT -- capacitor C1 470u 350V electrolytic -- b
b -- capacitor C2 470u 350V electrolytic -- gnd
`,
  },
  "valves side by side": {
    winding: "350-0-350V 500mA 40R { a gnd c }",
    parts: `a -- resistor R20 22R 10W 500V -- ra
c -- resistor R21 22R 10W 500V -- rc
a -- resistor R22 22R 10W 500V -- rb
c -- resistor R23 22R 10W 500V -- rd
transformer T3 50VA { primary 230V { live inN }  rect 5V 4A { HT f2 } }
valve V7 GZ34 { plate1: ra, plate2: rc, cathode: HT, heater: HT f2 }
valve V8 GZ34 { plate1: rb, plate2: rd, cathode: HT, heater: HT f2 }
HT -- capacitor C1 47u 700V film -- gnd
`,
  },
} as const;

/** A pair in class AB, and as much again into a resistor that doesn't care. */
const stage = `valve V1 EL34 { plate: pA, screen: sA, grid: bias, suppressor: gnd, cathode: gnd, heater: h1 h2 }
valve V2 EL34 { plate: pB, screen: sB, grid: bias, suppressor: gnd, cathode: gnd, heater: h1 h2 }
gnd -- source B1 42V -- bias
HT -- resistor R3 1k 10W 500V -- sA
HT -- resistor R4 1k 10W 500V -- sB
HT -- resistor R5 8k 50W 750V -- gnd
output-transformer T2 60W { plates 3k4 90R { pA HT pB }  speaker 8R 0.3R { spk gnd } }
spk -- speaker LS1 8R 100W -- gnd
`;

/** Two EL34's heaters as a resistor: 6.3 V, 3 A. */
const heaters = "h1 -- resistor R8 2.1R 50W 100V -- h2\n";

describe.each(Object.entries(supplies))("a supply at full drive: %s", (name, { winding, parts }) => {
  const supply = cord + transformer.replace("WINDING", winding) + parts;
  const { circuit, analysis } = check("driven.ampnet", supply + stage);
  const idle = analysis.solution("idle", "nominal");
  const t1 = circuit.parts.find((part) => part.reference === "T1");
  const ht = circuit.nets.find(({ name }) => name === "HT");
  if (!idle || t1?.kind !== "transformer" || !ht) throw new Error("not solved");
  const added = addedAmps(analysis, idle, "nominal");
  const volts = idle.volts[ht.index];

  it("knows what the rectifiers give, valves, resistors and all", () => {
    const { factor = 0 } = drivenSupply(analysis, { output: ht.index }, ["nominal"]) ?? {};
    // Ohm's and Kirchhoff's: what leaves the reservoir towards the stage, R5 and the plates' half turns.
    const amps = (key: string) => Math.abs(idle.readings.get(key)?.amps ?? Number.NaN);
    const given = volts / 8000 + amps("V1.plate") + amps("V2.plate") + amps("V1.screen") + amps("V2.screen");
    expect(factor).toBeCloseTo((given + added) / given, 2);
  });

  it("comes close to the same supply under that load", () => {
    // The load draws `added` more than idle, at volts that sag: looked for by halving.
    const given = volts / 8000 + 2 * Math.abs(idle.readings.get("V1.cathode")?.amps ?? Number.NaN);
    const under = (ohms: number, key: string) =>
      check("load.ampnet", `${supply}HT -- resistor R9 ${ohms.toFixed(1)} 200W 750V -- gnd\n${heaters}`)
        .analysis.solution("idle", "nominal")
        ?.readings.get(key);
    let [low, high] = [300, 20_000];
    for (let step = 0; step < 16; step++) {
      const ohms = Math.sqrt(low * high);
      if (Math.abs(under(ohms, "R9")?.amps ?? Number.NaN) > given + added) low = ohms;
      else high = ohms;
    }
    const wanted = under(low, "T1")?.voltAmperes ?? Number.NaN;
    const found = drivenVoltAmperes(analysis, t1) ?? Number.NaN;
    expect(found / wanted).toBeGreaterThan(0.85);
    // Behind valves and a small reservoir the source is past the closed form's range: on the heavy side, by a sixth here.
    expect(found / wanted).toBeLessThan(name === "valves side by side" ? 1.2 : 1.15);
  });
});
