/**
 * Every topology against an independent integration: the circuit's differential equations written out by hand and followed
 * through many cycles by a general library (odex). Limits: the program's table of accuracy.
 */
import { rectifierLaw, semiconductorLaw } from "../../../server/physics/laws/index.ts";
import { type Solved, SupplyBench } from "../../physics/supply-circuits.ts";
import {
  commonCathode,
  hybridCurrent,
  integrate,
  type Ode,
  seriesCurrent,
  type Watched,
} from "../../physics/supply-odes.ts";
import type { PublishedCheck } from "../check.ts";

const silicon = semiconductorLaw();
const gz34 = rectifierLaw("GZ34")!;
const within = { mean: 0.005, rms: 0.01, peak: 0.02, ripple: 0.02 };

interface Case {
  readonly name: string;
  readonly bench: SupplyBench;
  readonly ode: Ode;
  /** Pairs of ours and what the integration watched. */
  readonly compare: (
    ours: Solved,
    w: Record<string, Watched>,
  ) => readonly (readonly [string, keyof typeof within, number, number])[];
}

const crest = Math.SQRT2;
const wave = (hertz: number, volts: number) => (t: number) =>
  volts * crest * Math.sin(2 * Math.PI * hertz * t);

function cases(): Case[] {
  const list: Case[] = [];
  const supply = () => new SupplyBench();
  const dcAndRipple =
    (net: string, name = "v") =>
    (s: Solved, w: Record<string, Watched>) =>
      [
        [`${net} volts`, "mean", s.volts(net), w[name].mean],
        [`${net} ripple`, "ripple", s.ripple(net), w[name].high - w[name].low],
      ] as const;
  const current = (key: string, name: string) => (s: Solved, w: Record<string, Watched>) =>
    [
      [`${key} average`, "mean", s.reading(key).amps!, w[name].mean],
      [`${key} rms`, "rms", s.reading(key).rms!, w[name].rms],
      [`${key} peak`, "peak", s.reading(key).peak!, w[name].high],
    ] as const;

  {
    const u = wave(50, 300);
    const [R, C, RL] = [100, 47e-6, 2500];
    list.push({
      name: "full wave, centre tap, silicon, capacitor input",
      bench: supply()
        .secondary(["a", "gnd", "c"], [300, 300], 2 * R)
        .diode("D1", "a", "B")
        .diode("D2", "c", "B")
        .capacitor("C1", "B", "gnd", C, true)
        .resistor("R1", "B", "gnd", RL) as SupplyBench,
      ode: {
        hertz: 50,
        start: [356],
        cycles: 15,
        rate: (t, [v]) => [
          (seriesCurrent(silicon, R, u(t) - v) + seriesCurrent(silicon, R, -u(t) - v) - v / RL) / C,
        ],
        watch: (t, [v]) => {
          const i = seriesCurrent(silicon, R, u(t) - v);
          const j = seriesCurrent(silicon, R, -u(t) - v);
          return { v, i, c: i + j - v / RL, inverse: v - u(t) + R * i };
        },
      },
      compare: (s, w) => [
        ...dcAndRipple("B")(s, w),
        ...current("D1", "i")(s, w),
        ["C1 rms", "rms", s.reading("C1").rms!, w.c.rms],
        ["D1 inverse", "peak", s.reading("D1").inverse!, w.inverse.high],
      ],
    });
  }
  {
    const u = wave(50, 350);
    const [R, C, RL] = [75, 60e-6, 1520];
    list.push({
      name: "full wave, centre tap, GZ34, capacitor input",
      bench: supply()
        .secondary(["a", "gnd", "c"], [350, 350], 2 * R)
        .valve("V5", "GZ34", { "": { plate1: "a", plate2: "c", cathode: "B" } })
        .capacitor("C1", "B", "gnd", C, true)
        .resistor("R1", "B", "gnd", RL) as SupplyBench,
      ode: {
        hertz: 50,
        start: [378],
        cycles: 15,
        rate: (t, [v]) => [
          (seriesCurrent(gz34, R, u(t) - v) + seriesCurrent(gz34, R, -u(t) - v) - v / RL) / C,
        ],
        watch: (t, [v]) => ({ v, i: seriesCurrent(gz34, R, u(t) - v) }),
      },
      compare: (s, w) => [...dcAndRipple("B")(s, w), ...current("V5.plate1", "i")(s, w)],
    });
  }
  {
    const u = wave(60, 330);
    const [R, C, RL] = [30, 100e-6, 2200];
    const bench = supply();
    bench.hertz = 60;
    list.push({
      name: "bridge",
      bench: bench
        .secondary(["a", "c"], [330], R)
        .bridge("BR1", "a", "c", "B", "gnd")
        .capacitor("C1", "B", "gnd", C, true)
        .resistor("R1", "B", "gnd", RL) as SupplyBench,
      ode: {
        hertz: 60,
        start: [427],
        cycles: 25,
        rate: (t, [v]) => [(seriesCurrent(silicon, R, Math.abs(u(t)) - v, 2) - v / RL) / C],
        watch: (t, [v]) => {
          const i = seriesCurrent(silicon, R, Math.abs(u(t)) - v, 2);
          return { v, i: u(t) > 0 ? i : 0, winding: u(t) > 0 ? i : -i };
        },
      },
      compare: (s, w) => [
        ...dcAndRipple("B")(s, w),
        ...current("BR1.1", "i")(s, w),
        ...current("BR1.4", "i")(s, w),
        ["T1.ht rms", "rms", s.reading("T1.ht").rms!, w.winding.rms],
      ],
    });
  }
  {
    const u = wave(50, 50);
    const [R, C, RL] = [470, 47e-6, 15000];
    list.push({
      name: "half wave, negative bias",
      bench: supply()
        .secondary(["a", "gnd"], [50], R)
        .diode("D1", "N", "a")
        .capacitor("C1", "gnd", "N", C, true)
        .resistor("R1", "N", "gnd", RL) as SupplyBench,
      ode: {
        hertz: 50,
        start: [-56.5],
        cycles: 60,
        rate: (t, [v]) => [(-seriesCurrent(silicon, R, v - u(t)) - v / RL) / C],
        watch: (t, [v]) => ({ v, i: seriesCurrent(silicon, R, v - u(t)) }),
      },
      compare: (s, w) => [...dcAndRipple("N")(s, w), ...current("D1", "i")(s, w)],
    });
  }
  {
    const u = wave(50, 320);
    const [R, C, RL] = [80, 50e-6, 3000];
    list.push({
      name: "hybrid bridge: two silicon diodes, two plates of a GZ34",
      bench: supply()
        .secondary(["a", "c"], [320], R)
        .valve("V5", "GZ34", { "": { plate1: "a", plate2: "c", cathode: "B" } })
        .diode("D1", "gnd", "a")
        .diode("D2", "gnd", "c")
        .capacitor("C1", "B", "gnd", C, true)
        .resistor("R1", "B", "gnd", RL) as SupplyBench,
      ode: {
        hertz: 50,
        start: [374],
        cycles: 15,
        rate: (t, [v]) => [(hybridCurrent(gz34, R, Math.abs(u(t)) - v) - v / RL) / C],
        watch: (t, [v]) => ({ v, i: u(t) > 0 ? hybridCurrent(gz34, R, u(t) - v) : 0 }),
      },
      compare: (s, w) => [
        ...dcAndRipple("B")(s, w),
        ...current("V5.plate1", "i")(s, w),
        ...current("D2", "i")(s, w),
      ],
    });
  }
  {
    const u = wave(50, 170);
    const [R, C, RL] = [25, 100e-6, 2500];
    list.push({
      name: "full-wave doubler",
      bench: supply()
        .secondary(["a", "M"], [170], R)
        .diode("D1", "a", "P")
        .diode("D2", "gnd", "a")
        .capacitor("C1", "P", "M", C, true)
        .capacitor("C2", "M", "gnd", C, true)
        .resistor("R1", "P", "gnd", RL) as SupplyBench,
      ode: {
        hertz: 50,
        start: [200, 200],
        cycles: 40,
        rate: (t, [v1, v2]) => [
          (seriesCurrent(silicon, R, u(t) - v1) - (v1 + v2) / RL) / C,
          (seriesCurrent(silicon, R, -u(t) - v2) - (v1 + v2) / RL) / C,
        ],
        watch: (t, [v1, v2]) => ({ v: v1 + v2, m: v2, i: seriesCurrent(silicon, R, u(t) - v1) }),
      },
      compare: (s, w) => [
        ...dcAndRipple("P")(s, w),
        ...dcAndRipple("M", "m")(s, w),
        ...current("D1", "i")(s, w),
      ],
    });
  }
  {
    const u = wave(50, 170);
    const [R, C1, C2, RL] = [25, 47e-6, 68e-6, 5000];
    const parts = (t: number, v1: number, v2: number) => {
      const x = u(t) - v1;
      return { i1: seriesCurrent(silicon, R, -x), i2: seriesCurrent(silicon, R, x - v2) };
    };
    list.push({
      name: "cascade doubler",
      bench: supply()
        .secondary(["a", "gnd"], [170], R)
        .capacitor("C1", "X", "a", C1, true)
        .diode("D1", "gnd", "X")
        .diode("D2", "X", "P")
        .capacitor("C2", "P", "gnd", C2, true)
        .resistor("R1", "P", "gnd", RL) as SupplyBench,
      ode: {
        hertz: 50,
        start: [-212, 416],
        cycles: 50,
        rate: (t, [v1, v2]) => {
          const { i1, i2 } = parts(t, v1, v2);
          return [(i2 - i1) / C1, (i2 - v2 / RL) / C2];
        },
        watch: (t, [v1, v2]) => {
          const { i1, i2 } = parts(t, v1, v2);
          return { v: v2, c: -v1, i: i2, winding: i2 - i1 };
        },
      },
      compare: (s, w) => [
        ...dcAndRipple("P")(s, w),
        ...current("D2", "i")(s, w),
        ["C1 volts", "mean", s.reading("C1").volts!, w.c.mean],
        ["T1.ht rms", "rms", s.reading("T1.ht").rms!, w.winding.rms],
      ],
    });
  }
  {
    const u = wave(50, 320);
    const [R, C, RL, RB, CB, RN] = [110, 40e-6, 3300, 47e3, 10e-6, 27e3];
    list.push({
      name: "high tension and bias from one winding, the bias through a resistor",
      bench: supply()
        .secondary(["a", "gnd", "c"], [320, 320], 2 * R)
        .diode("D1", "a", "B")
        .diode("D2", "c", "B")
        .capacitor("C1", "B", "gnd", C, true)
        .resistor("R1", "B", "gnd", RL)
        .resistor("R2", "c", "y", RB)
        .diode("D3", "N", "y")
        .capacitor("C2", "gnd", "N", CB, true)
        .resistor("R3", "N", "gnd", RN) as SupplyBench,
      ode: {
        hertz: 50,
        start: [387, -64.6],
        cycles: 60,
        rate: (t, [v, n]) => [
          (seriesCurrent(silicon, R, u(t) - v) + seriesCurrent(silicon, R, -u(t) - v) - v / RL) / C,
          (-seriesCurrent(silicon, R + RB, n + u(t)) - n / RN) / CB,
        ],
        watch: (t, [v, n]) => ({
          v,
          n,
          i: seriesCurrent(silicon, R, u(t) - v),
          b: seriesCurrent(silicon, R + RB, n + u(t)),
        }),
      },
      compare: (s, w) => [
        ...dcAndRipple("B")(s, w),
        ...dcAndRipple("N", "n")(s, w),
        ...current("D1", "i")(s, w),
        ...current("D3", "b")(s, w),
        ["R2 rms", "rms", s.reading("R2").rms!, w.b.rms],
      ],
    });
  }
  {
    const u = wave(50, 300);
    const [R, C1, C2, RL] = [2200, 0.22e-6, 4.7e-6, 33e3];
    const parts = (t: number, v1: number, n: number) => {
      const y = u(t) - v1; // open volts of y
      return { up: seriesCurrent(silicon, R, y), down: seriesCurrent(silicon, R, n - y) };
    };
    list.push({
      name: "bias through a capacitor",
      bench: supply()
        .secondary(["a", "gnd"], [300], R)
        .capacitor("C1", "a", "y", C1)
        .diode("D1", "y", "gnd")
        .diode("D2", "N", "y")
        .capacitor("C2", "gnd", "N", C2, true)
        .resistor("R1", "N", "gnd", RL) as SupplyBench,
      ode: {
        hertz: 50,
        start: [325, -98],
        cycles: 60,
        rate: (t, [v1, n]) => {
          const { up, down } = parts(t, v1, n);
          return [(up - down) / C1, (-down - n / RL) / C2];
        },
        watch: (t, [v1, n]) => {
          const { up, down } = parts(t, v1, n);
          return { n, i: down, d: up };
        },
      },
      compare: (s, w) => [
        ...dcAndRipple("N", "n")(s, w),
        ["D2 average", "mean", s.reading("D2").amps!, w.i.mean],
        ["D2 rms", "rms", s.reading("D2").rms!, w.i.rms],
        ["D1 rms", "rms", s.reading("D1").rms!, w.d.rms],
      ],
    });
  }
  {
    const u = wave(50, 300);
    const [R, C, RL, RB, CB] = [100, 47e-6, 3000, 180, 220e-6];
    const total = (t: number, v: number, n: number) =>
      seriesCurrent(silicon, R, u(t) + n - v) + seriesCurrent(silicon, R, -u(t) + n - v);
    list.push({
      name: "centre tap lifted by a back-bias resistor with its capacitor",
      bench: supply()
        .secondary(["a", "N", "c"], [300, 300], 2 * R)
        .diode("D1", "a", "B")
        .diode("D2", "c", "B")
        .capacitor("C1", "B", "gnd", C, true)
        .resistor("R1", "B", "gnd", RL)
        .resistor("R2", "N", "gnd", RB)
        .capacitor("C2", "gnd", "N", CB, true) as SupplyBench,
      ode: {
        hertz: 50,
        start: [346, -20.8],
        cycles: 40,
        rate: (t, [v, n]) => {
          const i = total(t, v, n);
          return [(i - v / RL) / C, (-i - n / RB) / CB];
        },
        watch: (t, [v, n]) => ({ v, n, i: seriesCurrent(silicon, R, u(t) + n - v) }),
      },
      compare: (s, w) => [
        ...dcAndRipple("B")(s, w),
        ...dcAndRipple("N", "n")(s, w),
        ...current("D1", "i")(s, w),
      ],
    });
  }
  {
    const u = wave(50, 300);
    const [R, C, RL, RB] = [100, 47e-6, 3000, 180];
    // Both plates' current through one resistor: one conducts at a time.
    const i = (t: number, v: number) => seriesCurrent(silicon, R + RB, Math.abs(u(t)) - v);
    list.push({
      name: "centre tap lifted by a back-bias resistor alone",
      bench: supply()
        .secondary(["a", "N", "c"], [300, 300], 2 * R)
        .diode("D1", "a", "B")
        .diode("D2", "c", "B")
        .capacitor("C1", "B", "gnd", C, true)
        .resistor("R1", "B", "gnd", RL)
        .resistor("R2", "N", "gnd", RB) as SupplyBench,
      ode: {
        hertz: 50,
        start: [320],
        cycles: 20,
        rate: (t, [v]) => [(i(t, v) - v / RL) / C],
        watch: (t, [v]) => ({ v, n: -RB * i(t, v), i: u(t) > 0 ? i(t, v) : 0 }),
      },
      compare: (s, w) => [
        ...dcAndRipple("B")(s, w),
        ["N volts", "mean", s.volts("N"), w.n.mean],
        ["N trough", "peak", s.trough("N"), w.n.low],
        ...current("D1", "i")(s, w),
      ],
    });
  }
  {
    const u = wave(60, 400);
    const [R, C, RL] = [60, 40e-6, 1700];
    const law5u4 = rectifierLaw("5U4GB")!;
    const out = new Float64Array(2);
    const pair = {
      evaluate(v: number, o: Float64Array) {
        law5u4.evaluate(v, out);
        o[0] = 2 * out[0];
        o[1] = 2 * out[1];
      },
    };
    const bench = supply();
    bench.hertz = 60;
    list.push({
      name: "two 5U4GB side by side",
      bench: bench
        .secondary(["a", "gnd", "c"], [400, 400], 2 * R)
        .valve("V5", "5U4GB", { "": { plate1: "a", plate2: "c", cathode: "B" } })
        .valve("V6", "5U4GB", { "": { plate1: "a", plate2: "c", cathode: "B" } })
        .capacitor("C1", "B", "gnd", C, true)
        .resistor("R1", "B", "gnd", RL) as SupplyBench,
      ode: {
        hertz: 60,
        start: [432],
        cycles: 15,
        rate: (t, [v]) => [
          (seriesCurrent(pair, R, u(t) - v) + seriesCurrent(pair, R, -u(t) - v) - v / RL) / C,
        ],
        watch: (t, [v]) => ({ v, i: seriesCurrent(pair, R, u(t) - v) / 2 }),
      },
      compare: (s, w) => [
        ...dcAndRipple("B")(s, w),
        ...current("V5.plate1", "i")(s, w),
        ...current("V6.plate2", "i")(s, w),
      ],
    });
  }
  for (const [name, L, RL, start] of [
    ["choke input above the critical inductance, GZ34", 10, 2500, [0.088, 290]],
    ["choke input below the critical inductance, GZ34", 2, 5000, [0, 358.6]],
  ] as const) {
    const u = wave(50, 350);
    const [RC, C] = [120, 20e-6];
    const cathode = (t: number, i: number) => commonCathode(gz34, u(t), -u(t), Math.max(i, 1e-9));
    const slope = (t: number, i: number, v: number) => {
      const d = (cathode(t, i) - v - RC * i) / L;
      // Cut off: nothing flows back, and what a step has overshot is taken back.
      return i <= 0 ? Math.max(d, 0) - 1e4 * i : d;
    };
    list.push({
      name,
      bench: supply()
        .secondary(["a", "gnd", "c"], [350, 350], 0)
        .valve("V5", "GZ34", { "": { plate1: "a", plate2: "c", cathode: "K" } })
        .choke("L1", "K", "B", L, RC)
        .capacitor("C1", "B", "gnd", C, true)
        .resistor("R1", "B", "gnd", RL) as SupplyBench,
      ode: {
        hertz: 50,
        start,
        shortSteps: true,
        cycles: 40,
        rate: (t, [i, v]) => [slope(t, i, v), (Math.max(i, 0) - v / RL) / C],
        watch: (t, [i, v]) => ({ v, i: Math.max(i, 0), k: cathode(t, i) }),
      },
      compare: (s, w) => [
        ...dcAndRipple("B")(s, w),
        ["L1 average", "mean", s.reading("L1").amps!, w.i.mean],
        ["L1 rms", "rms", s.reading("L1").rms!, w.i.rms],
        ["L1 peak", "peak", s.reading("L1").peak!, w.i.high],
        ["V5.plate1 rms", "rms", s.reading("V5.plate1").rms!, w.i.rms / Math.SQRT2],
      ],
    });
  }
  {
    const u = wave(50, 300);
    const [R, C1, R1, C2, R2, C3, I2, R3] = [100, 32e-6, 220, 32e-6, 10e3, 16e-6, 6e3, 47e3];
    list.push({
      name: "a chain of droppers and reservoirs behind the rectifier",
      bench: supply()
        .secondary(["a", "gnd", "c"], [300, 300], 2 * R)
        .diode("D1", "a", "B")
        .diode("D2", "c", "B")
        .capacitor("C1", "B", "gnd", C1, true)
        .resistor("R1", "B", "B2", R1)
        .capacitor("C2", "B2", "gnd", C2, true)
        .resistor("RL2", "B2", "gnd", I2)
        .resistor("R2", "B2", "B3", R2)
        .capacitor("C3", "B3", "gnd", C3, true)
        .resistor("RL3", "B3", "gnd", R3) as SupplyBench,
      ode: {
        hertz: 50,
        start: [382, 369, 304.2],
        cycles: 80,
        rate: (t, [v, v2, v3]) => [
          (seriesCurrent(silicon, R, u(t) - v) + seriesCurrent(silicon, R, -u(t) - v) - (v - v2) / R1) / C1,
          ((v - v2) / R1 - v2 / I2 - (v2 - v3) / R2) / C2,
          ((v2 - v3) / R2 - v3 / R3) / C3,
        ],
        watch: (t, [v, v2, v3]) => ({ v, v2, v3, i: seriesCurrent(silicon, R, u(t) - v) }),
      },
      compare: (s, w) => [
        ...dcAndRipple("B")(s, w),
        ...dcAndRipple("B2", "v2")(s, w),
        ["B3 volts", "mean", s.volts("B3"), w.v3.mean],
        ...current("D1", "i")(s, w),
      ],
    });
  }
  {
    // Stoppers of screens lead on from the reservoir to what holds nothing still: hardly any ripple current flows in them.
    const u = wave(50, 400);
    const [R, C, RL, RS, RV] = [80, 47e-6, 12e3, 100, 47e3];
    const load = 1 / RL + 4 / (RS + RV);
    const bench = supply()
      .secondary(["a", "c"], [400], R)
      .bridge("BR1", "a", "c", "B", "gnd")
      .capacitor("C1", "B", "gnd", C, true)
      .resistor("RL", "B", "gnd", RL);
    for (const n of [1, 2, 3, 4])
      bench.resistor(`RS${n}`, "B", `s${n}`, RS).resistor(`RV${n}`, `s${n}`, "gnd", RV);
    list.push({
      name: "stoppers that lead on from the reservoir",
      bench: bench as SupplyBench,
      ode: {
        hertz: 50,
        start: [545],
        cycles: 60,
        rate: (t, [v]) => [(seriesCurrent(silicon, R, Math.abs(u(t)) - v, 2) - v * load) / C],
        watch: (t, [v]) => {
          const i = seriesCurrent(silicon, R, Math.abs(u(t)) - v, 2);
          return { v, s: (v * RV) / (RS + RV), i: u(t) > 0 ? i : 0, c: i - v * load };
        },
      },
      compare: (s, w) => [
        ...dcAndRipple("B")(s, w),
        ...current("BR1.1", "i")(s, w),
        ["C1 rms", "rms", s.reading("C1").rms!, w.c.rms],
        ["s1 ripple", "ripple", s.laterRipple("s1"), w.s.high - w.s.low],
      ],
    });
  }
  {
    // A primary with its resistance, a heater winding with its own: everything reflected into one equation.
    const [VM, RP, N, RS, NH, RW, RH, C, RL] = [230, 14, 330 / 230, 60, 6.9 / 230, 0.05, 2.1, 47e-6, 3000];
    const u = wave(50, VM);
    const load = NH ** 2 / (RH + RW);
    const share = 1 / (1 + RP * load);
    const ohms = RS + N * N * RP * share;
    const i = (t: number, v: number, sign: number) =>
      seriesCurrent(silicon, ohms, sign * N * u(t) * share - v);
    list.push({
      name: "the primary's resistance reflected, with a heater winding beside",
      bench: supply()
        .transformer(
          "T1",
          { volts: [VM], nets: ["live", "neutral"], ohms: RP },
          {
            ht: { volts: [330, 330], nets: ["a", "gnd", "c"], ohms: 2 * RS, noLoad: true },
            heater: { volts: [6.9], nets: ["h", "gnd"], ohms: RW, noLoad: true },
          },
        )
        .resistor("RH", "h", "gnd", RH)
        .diode("D1", "a", "B")
        .diode("D2", "c", "B")
        .capacitor("C1", "B", "gnd", C, true)
        .resistor("R1", "B", "gnd", RL) as SupplyBench,
      ode: {
        hertz: 50,
        start: [401],
        cycles: 15,
        rate: (t, [v]) => [(i(t, v, 1) + i(t, v, -1) - v / RL) / C],
        watch: (t, [v]) => {
          const [p, q] = [i(t, v, 1), i(t, v, -1)];
          const core = (u(t) - RP * N * (p - q)) * share;
          const primary = N * (p - q) + load * core;
          return { v, i: p, heater: (core * NH * RH) / (RH + RW), primary };
        },
      },
      compare: (s, w) => [
        ...dcAndRipple("B")(s, w),
        ...current("D1", "i")(s, w),
        ["heater volts", "rms", s.reading("RH").rmsVolts!, w.heater.rms],
        ["T1.primary rms", "rms", s.reading("T1.primary").rms!, w.primary.rms],
      ],
    });
  }
  {
    const u = wave(50, 230);
    const [R, C, RL] = [120, 50e-6, 4000];
    const ez80 = rectifierLaw("EZ81")!;
    list.push({
      name: "half wave, one plate",
      bench: supply()
        .secondary(["a", "gnd"], [230], R)
        .valve("V5", "EZ81", { "": { plate1: "a", cathode: "B" } })
        .capacitor("C1", "B", "gnd", C, true)
        .resistor("R1", "B", "gnd", RL) as SupplyBench,
      ode: {
        hertz: 50,
        start: [238],
        cycles: 25,
        rate: (t, [v]) => [(seriesCurrent(ez80, R, u(t) - v) - v / RL) / C],
        watch: (t, [v]) => ({ v, i: seriesCurrent(ez80, R, u(t) - v) }),
      },
      compare: (s, w) => [...dcAndRipple("B")(s, w), ...current("V5.plate1", "i")(s, w)],
    });
  }
  {
    const u = wave(50, 300);
    const [R, RL] = [100, 2500];
    const i = (t: number) => seriesCurrent(silicon, R + RL, Math.abs(u(t)));
    list.push({
      name: "a rectifier without a reservoir",
      bench: supply()
        .secondary(["a", "gnd", "c"], [300, 300], 2 * R)
        .diode("D1", "a", "B")
        .diode("D2", "c", "B")
        .resistor("R1", "B", "gnd", RL) as SupplyBench,
      ode: {
        hertz: 50,
        start: [0],
        cycles: 1,
        rate: () => [0],
        watch: (t) => ({ v: RL * i(t), i: u(t) > 0 ? i(t) : 0 }),
      },
      compare: (s, w) => [
        ["B volts", "mean", s.volts("B"), w.v.mean],
        ["B peak", "peak", s.peak("B"), w.v.high],
        ...current("D1", "i")(s, w),
      ],
    });
  }
  {
    const u = wave(50, 45);
    const [R, C, RL] = [10, 1.2e-6, 27e3];
    list.push({
      name: "bias diode behind a small capacitor: its current is up at once",
      bench: supply()
        .secondary(["a", "gnd"], [45], R)
        .diode("D1", "N", "a")
        .capacitor("C1", "gnd", "N", C, true)
        .resistor("R1", "N", "gnd", RL) as SupplyBench,
      ode: {
        hertz: 50,
        start: [-52],
        cycles: 12,
        shortSteps: true,
        rate: (t, [v]) => [(-seriesCurrent(silicon, R, v - u(t)) - v / RL) / C],
        watch: (t, [v]) => ({ v, i: seriesCurrent(silicon, R, v - u(t)), r: v / RL }),
      },
      compare: (s, w) => [
        ...dcAndRipple("N")(s, w),
        ...current("D1", "i")(s, w),
        ["R1 rms", "rms", s.reading("R1").rms!, w.r.rms],
      ],
    });
  }
  {
    const u = wave(50, 156);
    const [R, C1, RD, C2, RL] = [60, 5.1e-6, 680, 30e-6, 33e3];
    list.push({
      name: "half wave into a small reservoir, a dropper and a large one",
      bench: supply()
        .secondary(["a", "gnd"], [156], R)
        .diode("D1", "N", "a")
        .capacitor("C1", "gnd", "N", C1, true)
        .resistor("R1", "N", "M", RD)
        .capacitor("C2", "gnd", "M", C2, true)
        .resistor("R2", "M", "gnd", RL) as SupplyBench,
      ode: {
        hertz: 50,
        start: [-211, -206.5],
        cycles: 40,
        rate: (t, [v, m]) => [
          (-seriesCurrent(silicon, R, v - u(t)) - (v - m) / RD) / C1,
          ((v - m) / RD - m / RL) / C2,
        ],
        watch: (t, [v, m]) => ({ v, m, i: seriesCurrent(silicon, R, v - u(t)), r: (v - m) / RD }),
      },
      compare: (s, w) => [
        ...dcAndRipple("N")(s, w),
        ...dcAndRipple("M", "m")(s, w),
        ...current("D1", "i")(s, w),
        ["R1 rms", "rms", s.reading("R1").rms!, w.r.rms],
      ],
    });
  }
  {
    const u = wave(50, 230);
    const [R, C1, L, RC, C2, RL] = [150, 20e-6, 10, 250, 8e-6, 8200];
    const ez81 = rectifierLaw("EZ81")!;
    const i = (t: number, v: number) => seriesCurrent(ez81, R, u(t) - v);
    list.push({
      name: "half wave, a choke and a small second reservoir",
      bench: supply()
        .secondary(["a", "gnd"], [230], R)
        .valve("V5", "EZ81", { "": { plate1: "a", cathode: "B" } })
        .capacitor("C1", "B", "gnd", C1, true)
        .choke("L1", "B", "B2", L, RC)
        .capacitor("C2", "B2", "gnd", C2, true)
        .resistor("R1", "B2", "gnd", RL) as SupplyBench,
      ode: {
        hertz: 50,
        start: [275, 0.03, 262],
        cycles: 60,
        rate: (t, [v, l, v2]) => [(i(t, v) - l) / C1, (v - v2 - RC * l) / L, (l - v2 / RL) / C2],
        watch: (t, [v, l, v2]) => ({ v, l, v2, i: i(t, v), c: i(t, v) - l, c2: l - v2 / RL }),
      },
      compare: (s, w) => [
        ...dcAndRipple("B")(s, w),
        ...dcAndRipple("B2", "v2")(s, w),
        ...current("V5.plate1", "i")(s, w),
        ["L1 rms", "rms", s.reading("L1").rms!, w.l.rms],
        ["C1 rms", "rms", s.reading("C1").rms!, w.c.rms],
        ["C2 rms", "rms", s.reading("C2").rms!, w.c2.rms],
      ],
    });
  }
  {
    const u = wave(60, 386);
    const [R, C1, RD, C2, L, RC, C3, RL] = [305, 16e-6, 3900, 2.7e-6, 2, 50, 22e-6, 100e3];
    const bench = supply();
    bench.hertz = 60;
    const i = (t: number, v: number) =>
      seriesCurrent(silicon, R, u(t) - v) + seriesCurrent(silicon, R, -u(t) - v);
    list.push({
      name: "a dropper, a small reservoir and a choke near its resonance",
      bench: bench
        .secondary(["a", "gnd", "c"], [386, 386], 2 * R)
        .diode("D1", "a", "B")
        .diode("D2", "c", "B")
        .capacitor("C1", "B", "gnd", C1, true)
        .resistor("R1", "B", "B2", RD)
        .capacitor("C2", "B2", "gnd", C2, true)
        .choke("L1", "B2", "B3", L, RC)
        .capacitor("C3", "B3", "gnd", C3, true)
        .resistor("R2", "B3", "gnd", RL) as SupplyBench,
      ode: {
        hertz: 60,
        start: [533, 512, 0.005, 511],
        cycles: 120,
        rate: (t, [v, v2, l, v3]) => [
          (i(t, v) - (v - v2) / RD) / C1,
          ((v - v2) / RD - l) / C2,
          (v2 - v3 - RC * l) / L,
          (l - v3 / RL) / C3,
        ],
        watch: (t, [v, v2, l, v3]) => ({ v, v2, l, v3, i: seriesCurrent(silicon, R, u(t) - v) }),
      },
      compare: (s, w) => [
        ...dcAndRipple("B")(s, w),
        ...dcAndRipple("B2", "v2")(s, w),
        ...dcAndRipple("B3", "v3")(s, w),
        ...current("D1", "i")(s, w),
      ],
    });
  }
  {
    const u = wave(50, 150);
    const [R, CB, CH, RB, RH] = [12, 68e-6, 47e-6, 4700, 6800];
    const halves = (t: number, v: number, h: number) => {
      const e = u(t);
      return {
        up: seriesCurrent(silicon, R, h + e - v),
        down: seriesCurrent(silicon, R, h - e - v),
        back: seriesCurrent(silicon, R, e - h),
        forth: seriesCurrent(silicon, R, -e - h),
      };
    };
    list.push({
      name: "a bridge on a tapped winding, half the volts from its tap",
      bench: supply()
        .secondary(["a", "H", "c"], [150, 150], 2 * R)
        .bridge("BR1", "a", "c", "B", "gnd")
        .capacitor("C1", "B", "gnd", CB, true)
        .resistor("R1", "B", "gnd", RB)
        .capacitor("C2", "H", "gnd", CH, true)
        .resistor("R2", "H", "gnd", RH) as SupplyBench,
      ode: {
        hertz: 50,
        start: [400, 200],
        cycles: 60,
        rate: (t, [v, h]) => {
          const { up, down, back, forth } = halves(t, v, h);
          return [(up + down - v / RB) / CB, (back + forth - up - down - h / RH) / CH];
        },
        watch: (t, [v, h]) => {
          const { up, forth } = halves(t, v, h);
          return { v, h, i: up, winding: up - forth };
        },
      },
      compare: (s, w) => [
        ...dcAndRipple("B")(s, w),
        ...dcAndRipple("H", "h")(s, w),
        ...current("BR1.1", "i")(s, w),
        ["T1.ht.1 rms", "rms", s.reading("T1.ht.1").rms!, w.winding.rms],
      ],
    });
  }
  {
    const u = wave(60, 120);
    const [R, C, RP, RN] = [40, 33e-6, 3900, 12e3];
    const bench = supply();
    bench.hertz = 60;
    list.push({
      name: "two half waves from one winding, above common and below",
      bench: bench
        .secondary(["a", "gnd"], [120], R)
        .diode("D1", "a", "P")
        .capacitor("C1", "P", "gnd", C, true)
        .resistor("R1", "P", "gnd", RP)
        .diode("D2", "N", "a")
        .capacitor("C2", "gnd", "N", C, true)
        .resistor("R2", "N", "gnd", RN) as SupplyBench,
      ode: {
        hertz: 60,
        start: [150, -160],
        cycles: 50,
        rate: (t, [p, n]) => [
          (seriesCurrent(silicon, R, u(t) - p) - p / RP) / C,
          (-seriesCurrent(silicon, R, n - u(t)) - n / RN) / C,
        ],
        watch: (t, [p, n]) => {
          const [i, j] = [seriesCurrent(silicon, R, u(t) - p), seriesCurrent(silicon, R, n - u(t))];
          return { p, n, i, j, winding: i - j };
        },
      },
      compare: (s, w) => [
        ...dcAndRipple("P", "p")(s, w),
        ...dcAndRipple("N", "n")(s, w),
        ...current("D1", "i")(s, w),
        ...current("D2", "j")(s, w),
        ["T1.ht rms", "rms", s.reading("T1.ht").rms!, w.winding.rms],
      ],
    });
  }
  {
    const u = wave(50, 170);
    const [R, C1, C2, L, RC, C3, RL] = [25, 47e-6, 47e-6, 3, 80, 16e-6, 5600];
    const parts = (t: number, v1: number, v2: number) => {
      const x = u(t) - v1;
      return { i1: seriesCurrent(silicon, R, -x), i2: seriesCurrent(silicon, R, x - v2) };
    };
    list.push({
      name: "cascade doubler with a choke",
      bench: supply()
        .secondary(["a", "gnd"], [170], R)
        .capacitor("C1", "X", "a", C1, true)
        .diode("D1", "gnd", "X")
        .diode("D2", "X", "P")
        .capacitor("C2", "P", "gnd", C2, true)
        .choke("L1", "P", "Q", L, RC)
        .capacitor("C3", "Q", "gnd", C3, true)
        .resistor("R1", "Q", "gnd", RL) as SupplyBench,
      ode: {
        hertz: 50,
        start: [-211, 415, 0.073, 409],
        cycles: 100,
        rate: (t, [v1, v2, l, v3]) => {
          const { i1, i2 } = parts(t, v1, v2);
          return [(i2 - i1) / C1, (i2 - l) / C2, (v2 - v3 - RC * l) / L, (l - v3 / RL) / C3];
        },
        watch: (t, [v1, v2, l, v3]) => ({ v: v2, v3, l, i: parts(t, v1, v2).i2 }),
      },
      compare: (s, w) => [
        ...dcAndRipple("P")(s, w),
        ...dcAndRipple("Q", "v3")(s, w),
        ...current("D2", "i")(s, w),
        ["L1 rms", "rms", s.reading("L1").rms!, w.l.rms],
      ],
    });
  }
  {
    const u = wave(50, 194);
    const [R, C1, C2, RS, RY, RN] = [100, 0.22e-6, 8e-6, 2200, 47e3, 27e3];
    // A shunt resistor gives back what the diode took; the charge of the coupling capacitor is the state.
    const parts = (t: number, v1: number, n: number) => {
      const x = u(t) - v1;
      // The node between: x behind R, RY to common, RS and the diode to N.
      const open = (x * RY) / (R + RY);
      const ohms = RS + (R * RY) / (R + RY);
      const d = seriesCurrent(silicon, ohms, n - open);
      const y = ((x / R + d) * R * RY) / (R + RY);
      return { d, y, i: (x - y) / R };
    };
    list.push({
      name: "bias through a capacitor, with a shunt resistor and one in series",
      bench: supply()
        .secondary(["a", "gnd"], [194], R)
        .capacitor("C1", "a", "y", C1)
        .resistor("R1", "y", "gnd", RY)
        .resistor("R2", "y", "z", RS)
        .diode("D1", "N", "z")
        .capacitor("C2", "gnd", "N", C2, true)
        .resistor("R3", "N", "gnd", RN) as SupplyBench,
      ode: {
        hertz: 50,
        start: [30, -40],
        cycles: 80,
        rate: (t, [v1, n]) => {
          const { d, i } = parts(t, v1, n);
          return [i / C1, (-d - n / RN) / C2];
        },
        watch: (t, [v1, n]) => {
          const { d, y, i } = parts(t, v1, n);
          return { n, d, y: y / RY, i };
        },
      },
      compare: (s, w) => [
        ...dcAndRipple("N", "n")(s, w),
        ...current("D1", "d")(s, w),
        ["R1 rms", "rms", s.reading("R1").rms!, w.y.rms],
        ["C1 rms", "rms", s.reading("C1").rms!, w.i.rms],
      ],
    });
  }
  {
    const u = wave(50, 219);
    const [R, C, L, RC, C2, RL] = [97, 100e-6, 6, 116, 5.6e-6, 47e3];
    const gz = rectifierLaw("EZ80")!;
    const i = (t: number, v: number) => seriesCurrent(gz, R, u(t) - v);
    list.push({
      name: "cans in series before a choke and cans in series",
      bench: supply()
        .secondary(["a", "gnd"], [219], R)
        .valve("V5", "EZ80", { "": { plate1: "a", cathode: "B" } })
        .capacitor("C1", "B", "Bm", C, true)
        .capacitor("C2", "Bm", "gnd", C, true)
        .resistor("R1", "B", "Bm", 220e3)
        .resistor("R2", "Bm", "gnd", 220e3)
        .choke("L1", "B", "B2", L, RC)
        .capacitor("C3", "B2", "B2m", C2, true)
        .capacitor("C4", "B2m", "gnd", C2, true)
        .resistor("R3", "B2", "B2m", 220e3)
        .resistor("R4", "B2m", "gnd", 220e3)
        .resistor("R5", "B2", "gnd", RL) as SupplyBench,
      ode: {
        hertz: 50,
        start: [300, 0.007, 299],
        cycles: 150,
        rate: (t, [v, l, v2]) => [
          (i(t, v) - l - v / 440e3) / (C / 2),
          (v - v2 - RC * l) / L,
          (l - v2 / RL - v2 / 440e3) / (C2 / 2),
        ],
        watch: (t, [v, l, v2]) => ({
          v,
          l,
          v2,
          i: i(t, v),
          c: i(t, v) - l - v / 440e3,
          c2: l - v2 / RL - v2 / 440e3,
        }),
      },
      compare: (s, w) => [
        ...dcAndRipple("B")(s, w),
        ...dcAndRipple("B2", "v2")(s, w),
        ...current("V5.plate1", "i")(s, w),
        ["C1 rms", "rms", s.reading("C1").rms!, w.c.rms],
        ["C3 rms", "rms", s.reading("C3").rms!, w.c2.rms],
        ["L1 rms", "rms", s.reading("L1").rms!, w.l.rms],
      ],
    });
  }
  {
    const u = wave(50, 295);
    const [R, C1, RD, C2, RL, R2, C3, R3, L, RC, C4, R4] = [
      116, 8e-6, 4700, 32e-6, 22e3, 15e3, 16e-6, 100e3, 10, 200, 47e-6, 10e3,
    ];
    const i = (t: number, v: number) =>
      seriesCurrent(silicon, R, u(t) - v) + seriesCurrent(silicon, R, -u(t) - v);
    list.push({
      name: "three branches from a small reservoir",
      bench: supply()
        .secondary(["a", "gnd", "c"], [295, 295], 2 * R)
        .diode("D1", "a", "B")
        .diode("D2", "c", "B")
        .capacitor("C1", "B", "gnd", C1, true)
        .resistor("R1", "B", "B2", RD)
        .capacitor("C2", "B2", "gnd", C2, true)
        .resistor("RL", "B2", "gnd", RL)
        .resistor("R2", "B", "B3", R2)
        .capacitor("C3", "B3", "gnd", C3, true)
        .resistor("R3", "B3", "gnd", R3)
        .choke("L1", "B", "B4", L, RC)
        .capacitor("C4", "B4", "gnd", C4, true)
        .resistor("R4", "B4", "gnd", R4) as SupplyBench,
      ode: {
        hertz: 50,
        start: [374, 307, 324, 0.037, 367],
        cycles: 150,
        rate: (t, [v, v2, v3, l, v4]) => [
          (i(t, v) - (v - v2) / RD - (v - v3) / R2 - l) / C1,
          ((v - v2) / RD - v2 / RL) / C2,
          ((v - v3) / R2 - v3 / R3) / C3,
          (v - v4 - RC * l) / L,
          (l - v4 / R4) / C4,
        ],
        watch: (t, [v, v2, v3, l, v4]) => ({
          v,
          v2,
          v3,
          v4,
          l,
          r1: (v - v2) / RD,
          r2: (v - v3) / R2,
          i: seriesCurrent(silicon, R, u(t) - v),
        }),
      },
      compare: (s, w) => [
        ...dcAndRipple("B")(s, w),
        ["B2 volts", "mean", s.volts("B2"), w.v2.mean],
        ["B3 volts", "mean", s.volts("B3"), w.v3.mean],
        ["B4 volts", "mean", s.volts("B4"), w.v4.mean],
        ...current("D1", "i")(s, w),
        ["R1 rms", "rms", s.reading("R1").rms!, w.r1.rms],
        ["R2 rms", "rms", s.reading("R2").rms!, w.r2.rms],
        ["L1 rms", "rms", s.reading("L1").rms!, w.l.rms],
      ],
    });
  }
  return list;
}

const kinds = {
  mean: "average",
  rms: "rms",
  peak: "peak",
  ripple: "ripple peak to peak",
} as const;

/** What is left to settle at the end of the integration, relative, per cycle. */
export const mostDrift = 5e-5;

/** A circuit's figures: ours and the integration's, made once. */
function figuresOf({ bench, ode, compare, name }: Case) {
  let made: ReturnType<Case["compare"]> | undefined;
  return () => {
    if (made) return made;
    const { watched, drift } = integrate(ode);
    if (!(drift < mostDrift)) throw new Error(`${name}: the integration has not settled (${drift})`);
    const solved = bench.solve();
    if (!solved.solution.result.converged) throw new Error(`${name}: not solved`);
    made = compare(solved, watched);
    return made;
  };
}

/** Grouped by circuit: the figures of one come from one integration. */
export const integratedCircuits: readonly {
  readonly name: string;
  readonly checks: () => readonly PublishedCheck[];
}[] = cases().map((c) => {
  const figures = figuresOf(c);
  return {
    name: c.name,
    checks: () =>
      figures().map(([what, kind, got, expected]) => ({
        name: `${c.name}: ${what}`,
        source: "odex (Hairer and Wanner's extrapolation code) on hand-written equations",
        evidence: "computed",
        quantity: kinds[kind],
        unit: "",
        expected,
        within: within[kind],
        got: () => got,
      })),
  };
});
