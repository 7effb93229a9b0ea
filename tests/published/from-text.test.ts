/**
 * From written text all the way to published numbers: each netlist is one that a person could type, each figure comes
 * from outside. Nothing here knows how the physics is built.
 */
import { describe, expect, it } from "vitest";
import { check } from "../../server/check.ts";
import type { Solution } from "../../server/physics/results.ts";

function idle(text: string): {
  readonly solution: Solution;
  readonly volts: (net: string) => number;
  readonly ripple: (net: string) => number;
} {
  const result = check("bench.ampnet", text);
  const solution = result.analysis.solution("idle", "nominal");
  if (solution === undefined) throw new Error("no idle solution");
  expect(solution.solved, solution.trouble?.message).toBe(true);
  const at = (net: string) => {
    const index = result.circuit.netByName.get(net);
    if (index === undefined) throw new Error(`no net ${net}`);
    return index;
  };
  return { solution, volts: (net) => solution.volts[at(net)], ripple: (net) => solution.ripple[at(net)] };
}

const near = (got: number, expected: number, within: number) =>
  expect(Math.abs(got / expected - 1), `${got} against ${expected}`).toBeLessThan(within);

/** Ideal diodes in the reference; a silicon junction takes about 0.8 V, so volts below a hundred are given its drop. */
describe("practical rectifiers, exact periodic steady state with ideal diodes (computed independently)", () => {
  const centreTapped = (volts: number, hertz: number, farads: string, load: string, source: string) => `
mains 230 V ${hertz} Hz
transformer T1 {
  primary 230V 0R { m1 m2 }
  ht ${volts}-0-${volts}V no-load 0R { a gnd b }
}
a -- resistor R1 ${source} 50W 0% -- ra -- diode D1 1N4007 -- HT
b -- resistor R2 ${source} 50W 0% -- rb -- diode D2 1N4007 -- HT
HT -- capacitor C1 ${farads} 600V electrolytic -- gnd
HT -- resistor R3 ${load} 200W -- gnd
`;
  it.each([
    {
      name: "300-0-300, 47u, 2500R, 100R",
      args: [300, 50, "47u", "2500R", "100R"],
      dc: 361.19,
      ripple: 20.623,
      rms: 0.18929,
      peak: 0.62164,
    },
    {
      name: "350-0-350, 40u, 3500R, 75R",
      args: [350, 60, "40u", "3500R", "75R"],
      dc: 444.44,
      ripple: 19.19,
      rms: 0.18318,
      peak: 0.66197,
    },
  ] as const)("$name", ({ args, dc, ripple, rms, peak }) => {
    const {
      solution,
      volts,
      ripple: rippleOf,
    } = idle(centreTapped(...(args as [number, number, string, string, string])));
    near(volts("HT"), dc, 0.005);
    near(rippleOf("HT"), ripple, 0.02);
    near(solution.readings.get("D1")?.rms ?? Number.NaN, rms, 0.015);
    near(solution.readings.get("D2")?.peak ?? Number.NaN, peak, 0.02);
  });

  it("bridge on 330 V", () => {
    const { solution, volts, ripple } = idle(`
mains 230 V 50 Hz
transformer T1 { 
  primary 230V 0R { m1 m2 }
  ht 330V no-load 30R { a b }
}
bridge D1 1000V 1A { ac1: a, ac2: b, plus: HT, minus: gnd }
HT -- capacitor C1 220u 500V electrolytic -- gnd
HT -- resistor R3 2200R 200W -- gnd
`);
    near(volts("HT"), 431.14 - 1.6, 0.005);
    near(ripple("HT"), 6.7785, 0.02);
    near(solution.readings.get("D1.1")?.rms ?? Number.NaN, 0.30395, 0.015);
    near(solution.readings.get("D1.3")?.peak ?? Number.NaN, 1.18, 0.02);
  });

  it("half-wave bias supply, 60 V and 220R", () => {
    const { volts, ripple } = idle(`
mains 120 V 60 Hz US
transformer T1 {
  primary 120V 0R { m1 m2 }
  bias 60V no-load 220R { a gnd }
}
neg -- diode D1 1N4007 -- a
gnd -- capacitor C1 100u 100V electrolytic -- neg
gnd -- resistor R1 10k 2W -- neg
`);
    near(volts("neg"), -(71.639 - 0.7), 0.005);
    near(ripple("neg"), 0.98577, 0.03);
  });

  it("full-wave doubler from 170 V", () => {
    const { volts, ripple, solution } = idle(`
mains 230 V 50 Hz
transformer T1 {
  primary 230V 0R { m1 m2 }
  ht 170V no-load 25R { a b }
}
a -- diode D1 1N5408 -- HT
gnd -- diode D2 1N5408 -- a
HT -- capacitor C1 220u 350V electrolytic -- b
b -- capacitor C2 220u 350V electrolytic -- gnd
HT -- resistor R1 2500R 200W -- gnd
`);
    near(volts("HT"), 409.38 - 1.6, 0.005);
    near(ripple("HT"), 9.9939, 0.03);
    near(solution.readings.get("D1")?.rms ?? Number.NaN, 0.4293, 0.015);
  });
});

/** Printed direct volts of the makers' sheets, capacitor input; the load is the resistor that draws the printed current. */
describe("rectifier-valve rows of the sheets, capacitor input (from memory of the RCA, Mullard and Philips sheets)", () => {
  const supply = (row: {
    valve: string;
    rms: number;
    hertz: number;
    farads: string;
    ohms: number;
    amps: number;
    dc: number;
  }) => `
mains 230 V ${row.hertz} Hz
transformer T1 {
  primary 230V 0R { m1 m2 }
  ht ${row.rms}-0-${row.rms}V no-load 0R { a gnd b }
}
a -- resistor R1 ${row.ohms}R 50W -- pa
b -- resistor R2 ${row.ohms}R 50W -- pb
valve V1 ${row.valve} { plate1: pa, plate2: pb, cathode: HT }
HT -- capacitor C1 ${row.farads} 800V electrolytic -- gnd
HT -- resistor R3 ${Math.round(row.dc / row.amps)}R 500W -- gnd
`;
  it.each([
    { valve: "5U4GB", rms: 300, hertz: 60, farads: "40u", ohms: 21, amps: 0.3, dc: 290 },
    { valve: "5U4GB", rms: 450, hertz: 60, farads: "40u", ohms: 67, amps: 0.275, dc: 460 },
    { valve: "5U4GB", rms: 550, hertz: 60, farads: "40u", ohms: 97, amps: 0.162, dc: 630 },
    { valve: "GZ34", rms: 350, hertz: 50, farads: "60u", ohms: 75, amps: 0.25, dc: 380 },
    { valve: "GZ34", rms: 450, hertz: 50, farads: "60u", ohms: 125, amps: 0.25, dc: 480 },
    { valve: "EZ81", rms: 300, hertz: 50, farads: "50u", ohms: 200, amps: 0.15, dc: 293 },
    { valve: "EZ81", rms: 350, hertz: 50, farads: "50u", ohms: 240, amps: 0.15, dc: 347 },
    { valve: "EZ80", rms: 250, hertz: 50, farads: "50u", ohms: 125, amps: 0.09, dc: 265 },
    { valve: "5Y3GT", rms: 500, hertz: 60, farads: "10u", ohms: 140, amps: 0.084, dc: 560 },
    { valve: "6X4", rms: 325, hertz: 60, farads: "10u", ohms: 525, amps: 0.035, dc: 365 },
  ])("$valve, $rms V a plate, $amps A", (row) => {
    near(idle(supply(row)).volts("HT"), row.dc, 0.05);
  });
});

describe("choke input", () => {
  const supply = (henries: number, load: number, rms: number, hertz: number) => `
mains 230 V ${hertz} Hz
transformer T1 {
  primary 230V 0R { m1 m2 }
  ht ${rms}-0-${rms}V no-load 0R { a gnd b }
}
a -- diode D1 1N4007 -- in
b -- diode D2 1N4007 -- in
in -- choke L1 ${henries}H 0R -- HT
HT -- capacitor C1 1000u 600V electrolytic -- gnd
HT -- resistor R1 ${load}R 100W -- gnd
`;
  // Above the critical inductance the mean of the rectified sine; below it an independent solution with a large capacitor.
  it.each([
    {
      henries: 10,
      load: 2000,
      rms: 300,
      hertz: 50,
      dc: 270.09,
      why: "above critical: 2√2/π of the rms volts",
    },
    { henries: 5, load: 10_000, rms: 300, hertz: 50, dc: 308.05, why: "below critical" },
    { henries: 10, load: 20_000, rms: 350, hertz: 60, dc: 349.0, why: "below critical" },
    { henries: 1, load: 5000, rms: 280, hertz: 50, dc: 322.58, why: "far below critical" },
  ])("$henries H, $load R: $why", ({ henries, load, rms, hertz, dc }) => {
    near(idle(supply(henries, load, rms, hertz)).volts("HT"), dc - 0.8, 0.005);
  });

  it("one LC section lets through what the textbook says (10 H, 40 uF, 4 kΩ: 0.300 % of the dc, rms)", () => {
    const { volts, ripple } = idle(`
mains 230 V 50 Hz
transformer T1 {
  primary 230V 0R { m1 m2 }
  ht 333.2-0-333.2V no-load 0R { a gnd b }
}
a -- diode D1 1N4007 -- in
b -- diode D2 1N4007 -- in
in -- choke L1 10H 0R -- HT
HT -- capacitor C1 40u 600V electrolytic -- gnd
HT -- resistor R1 4k 100W -- gnd
`);
    near(ripple("HT") / (2 * Math.SQRT2) / volts("HT"), 0.0030041, 0.03);
  });
});

describe("resistance-coupled ECC83 stages (Philips and Mullard ECC83 sheet, from memory)", () => {
  it.each([
    { supply: 200, ra: "47k", rk: "1k5", mA: 0.86 },
    { supply: 250, ra: "47k", rk: "1k2", mA: 1.18 },
    { supply: 300, ra: "47k", rk: "1k", mA: 1.55 },
    { supply: 400, ra: "47k", rk: "680R", mA: 2.45 },
    { supply: 200, ra: "100k", rk: "1k8", mA: 0.65 },
    { supply: 400, ra: "100k", rk: "820R", mA: 1.72 },
    { supply: 350, ra: "220k", rk: "1k5", mA: 0.85 },
    { supply: 400, ra: "220k", rk: "1k2", mA: 1.02 },
  ])("$supply V, $ra, $rk", ({ supply, ra, rk, mA }) => {
    const { solution } = idle(`
source B1 ${supply}V { plus: HT, minus: gnd }
HT -- resistor R1 ${ra} 1W -- p
valve V1.a ECC83 { plate: p, grid: g, cathode: k }
g -- resistor R2 1M 0.5W -- gnd
k -- resistor R3 ${rk} 0.5W -- gnd
`);
    near(1000 * (solution.readings.get("V1.a.plate")?.amps ?? Number.NaN), mA, 0.1);
  });
});
