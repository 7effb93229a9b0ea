import fc from "fast-check";
import { lusolve } from "mathjs";
import { describe, expect, test } from "vitest";
import { parse } from "../../grammar/parse.ts";
import { buildCircuit } from "../../server/circuit/build.ts";
import { analyse } from "../../server/physics/analyse.ts";
import type { SectionLaw } from "../../server/physics/device.ts";
import { CycleSolver } from "../../server/physics/drive/cycle.ts";
import { LevelSolver } from "../../server/physics/drive/level.ts";
import { mirrorOf } from "../../server/physics/drive/mirror.ts";
import { port, type Stage } from "../../server/physics/drive/stage.ts";
import { sectionLaw } from "../../server/physics/laws/index.ts";
import { solveDense } from "../../server/physics/linear/dense.ts";

test("the dense solver against mathjs", () => {
  fc.assert(
    fc.property(
      fc
        .integer({ min: 1, max: 9 })
        .chain((n) =>
          fc.tuple(
            fc.array(fc.double({ min: -5, max: 5, noNaN: true }), { minLength: n * n, maxLength: n * n }),
            fc.array(fc.double({ min: -5, max: 5, noNaN: true }), { minLength: n, maxLength: n }),
          ),
        ),
      ([values, right]) => {
        const n = right.length;
        // A diagonal that keeps it well conditioned.
        const rows = right.map((_, i) => right.map((_, j) => values[i * n + j] + (i === j ? 30 : 0)));
        const x = Float64Array.from(right);
        expect(solveDense(Float64Array.from(rows.flat()), x, n)).toBe(true);
        const reference = (lusolve(rows, right) as number[][]).flat();
        reference.forEach((value, i) => {
          expect(Math.abs(x[i] - value)).toBeLessThan(1e-12 * (1 + Math.abs(value)));
        });
      },
    ),
    { seed: 4 },
  );
  expect(solveDense(new Float64Array(4), new Float64Array(2), 2)).toBe(false);
});

/** A valve of constant slopes about a point: what textbooks draw equivalent circuits with. */
const linear = (gm: number, rp: number, idle: number, vg0: number, vp0: number): SectionLaw => ({
  evaluate(vg, _vs, vp, out) {
    out.fill(0);
    out[0] = idle + gm * (vg - vg0) + (vp - vp0) / rp;
    out[3] = gm;
    out[5] = 1 / rp;
  },
});

/** A valve cut off below `cutoff`, of constant slope above, whatever its plate does: ideal class B. */
const switching = (gm: number, cutoff: number): SectionLaw => ({
  evaluate(vg, _vs, _vp, out) {
    out.fill(0);
    if (vg > cutoff) {
      out[0] = gm * (vg - cutoff);
      out[3] = gm;
    }
  },
});

/** Ports: plate supply behind `sag` ohms, grid bias, cathode. */
function stageOf(
  laws: readonly SectionLaw[],
  supply: number,
  bias: number,
  loadOhms: number,
  sag = 0,
): Stage {
  const winding = 1e-3;
  return {
    sections: laws.map((law, i) => ({
      key: `V${i + 1}`,
      law,
      side: i % 2 === 0 ? 1 : -1,
      grid: port(1),
      plate: i % 2,
      cathode: port(2),
    })),
    branches:
      laws.length === 1
        ? [{ from: port(0), to: 0, siemens: 1 / winding, turns: 1 }]
        : [
            { from: port(0), to: 0, siemens: 1 / winding, turns: 1 },
            { from: port(0), to: 1, siemens: 1 / winding, turns: -1 },
          ],
    nodeCount: Math.min(laws.length, 2),
    nodeVolts: new Float64Array(Math.min(laws.length, 2)).fill(supply),
    loadOhms,
    delivered: 1,
    portVolts: Float64Array.of(supply, bias, 0),
    portOhms: Float64Array.of(sag, 0, 0, 0, 0, 0, 0, 0, 0),
    portAmps: new Float64Array(3),
  };
}

describe("against equivalent circuits in closed form", () => {
  test("a single-ended class A triode: mu*e into rp and the load in series", () => {
    const [gm, rp, load, idle] = [0.0052, 800, 2500, 0.06];
    const solver = new LevelSolver(stageOf([linear(gm, rp, idle, -45, 250)], 250, -45, load));
    const { cycle, amplitude, limit } = solver.atOnset();
    expect(limit).toBe("grid-current");
    expect(amplitude).toBeCloseTo(45, 6);
    const swing = (gm * rp * 45 * load) / (rp + load);
    expect(cycle.watts / (swing ** 2 / (2 * load))).toBeCloseTo(1, 5);
    expect(cycle.plateAmps[0]).toBeCloseTo(idle, 6);
    // What the supply gives is what the plate and the load take.
    expect(cycle.plateWatts[0]).toBeCloseTo(250 * idle - cycle.watts, 2);
    expect(cycle.plateVoltsPeak[0]).toBeCloseTo(250 + swing, 1);
    expect(cycle.crestGain).toBeCloseTo(swing / 45, 3);
  });
  test("a class A pair: twice the power of one into twice its load, plate to plate", () => {
    const law = linear(0.0052, 800, 0.06, -45, 250);
    const pair = new LevelSolver(stageOf([law, law], 250, -45, 5000 / 4)).atOnset();
    // Each valve works into half of plate to plate.
    const swing = (0.0052 * 800 * 45 * 2500) / (800 + 2500);
    expect(pair.cycle.watts / ((2 * swing ** 2) / (2 * 2500))).toBeCloseTo(1, 5);
    expect(pair.cycle.plateAmps[1]).toBeCloseTo(0.06, 6);
  });
  test("ideal class B: currents are halves of sines, and the plates are hottest at 2/pi of the swing", () => {
    const [supply, gm, bias] = [400, 0.005, -40];
    const peak = gm * 40;
    // Full swing takes the plates just to their cathodes.
    const law = switching(gm, bias);
    const solver = new LevelSolver(stageOf([law, law], supply, bias, supply / peak));
    const onset = solver.atOnset();
    expect(onset.cycle.watts / ((supply * peak) / 2)).toBeCloseTo(1, 3);
    expect(onset.cycle.plateAmps[0] / (peak / Math.PI)).toBeCloseTo(1, 1.9);
    const dissipation = (level: number) => solver.at(level * onset.amplitude).cycle.plateWatts[0];
    const expected = (level: number) =>
      supply * ((level * peak) / Math.PI) - (level * level * supply * peak) / 4;
    for (const level of [0.2, 0.4, 2 / Math.PI, 0.8, 1]) {
      expect(Math.abs(dissipation(level) / expected(level) - 1), `${level}`).toBeLessThan(0.03);
    }
    expect(dissipation(2 / Math.PI)).toBeGreaterThan(dissipation(0.55));
    expect(dissipation(2 / Math.PI)).toBeGreaterThan(dissipation(0.73));
    expect(dissipation(2 / Math.PI) / (supply ** 2 / (Math.PI ** 2 * (supply / peak)))).toBeCloseTo(1, 1.5);
  });
  test("a supply with resistance sags by the average current through it", () => {
    const law = switching(0.005, -40);
    const solver = new LevelSolver(stageOf([law, law], 400, -40, 500, 150));
    const { cycle, ports, solved } = solver.atOnset();
    expect(solved).toBe(true);
    expect(ports[0]).toBeCloseTo(400 - 150 * (cycle.plateAmps[0] + cycle.plateAmps[1]), 1);
    expect(cycle.portAmps[0]).toBeCloseTo(cycle.plateAmps[0] + cycle.plateAmps[1], 6);
  });
});

describe("the mirror of a symmetrical stage", () => {
  const law = sectionLaw("EL34", "")!;
  const pair = (other: SectionLaw): Stage => {
    const plain = stageOf([law, other], 430, -30, 1700);
    return {
      ...plain,
      sections: plain.sections.map((section, i) => ({ ...section, screen: 2 + i })),
      nodeCount: 4,
      nodeVolts: Float64Array.of(430, 430, 420, 420),
      branches: [
        ...plain.branches,
        { from: port(0), to: 2, siemens: 1e-3, turns: 0 },
        { from: port(0), to: 3, siemens: 1e-3, turns: 0 },
      ],
    };
  };
  test("is found where there is one, and not where there is none", () => {
    expect(mirrorOf(pair(law))).toBeDefined();
    expect([...mirrorOf(pair(law))!.sections]).toEqual([1, 0]);
    expect(mirrorOf(pair(sectionLaw("EL84", "")!))).toBeUndefined();
    expect(mirrorOf(stageOf([law], 250, -15, 3000))).toBeUndefined();
    const lame = pair(law);
    expect(
      mirrorOf({ ...lame, branches: lame.branches.map((b, i) => (i === 3 ? { ...b, siemens: 2e-3 } : b)) }),
    ).toBeUndefined();
  });
  test("tells the same as the whole cycle", () => {
    // The same law in another object is not seen to be alike: the whole cycle is run.
    const half = new CycleSolver(pair(law));
    const whole = new CycleSolver(pair({ evaluate: (g, s, p, out) => law.evaluate(g, s, p, out) }));
    const ports = Float64Array.of(430, -30, 0);
    const a = half.run(ports, 28, 0);
    const b = whole.run(ports, 28, 0);
    for (const key of [
      "plateAmps",
      "screenAmps",
      "plateWatts",
      "screenWatts",
      "plateAmpsPeak",
      "portAmps",
      "branchSquares",
      "e",
    ] as const) {
      b[key].forEach((value, i) => {
        expect(a[key][i], `${key} ${i}`).toBeCloseTo(value, 3);
      });
    }
    expect(a.watts).toBeCloseTo(b.watts, 4);
    expect(a.crestGain).toBeCloseTo(b.crestGain, 4);
    expect(a.troughGain).toBeCloseTo(b.troughGain, 4);
  });
  test("twelve steps are enough: the watts of forty-eight are found by the trapezoid to a thousandth", () => {
    // The same stage with the samples in between put in by hand.
    const solver = new CycleSolver(pair(law));
    const ports = Float64Array.of(430, -30, 0);
    const { watts } = solver.run(ports, 28, 0);
    let square = 0;
    for (let k = 0; k < 48; k++) {
      // The transformer's volts at one grid swing: the crest of a cycle of that amplitude.
      const s = Math.abs(28 * Math.sin((Math.PI * (k + 0.5)) / 48));
      const { e } = solver.run(ports, s, 0);
      square += e[e.length - 1] ** 2 / 48;
    }
    expect(square / 1700 / watts).toBeCloseTo(1, 3);
  });
});

/** An output stage on ideal sources, as a file. */
const amplifier = (text: string) => analyse(buildCircuit("bench.ampnet", text, parse(text)).circuit);

const el84 = (cathode: string, extra = "", speaker = "speaker LS1 15R 25W") => `
amp "bench"
HT -- source B1 310.4V -- gnd
valve V1 EL84 { plate: pA, screen: HT, grid: g1, cathode: ${cathode}, heater: h1 h2 }
valve V2 EL84 { plate: pB, screen: HT, grid: g2, cathode: ${cathode}, heater: h1 h2 }
g1 -- resistor R1 470k 0.5W -- gnd
g2 -- resistor R2 470k 0.5W -- gnd
output-transformer T1 20W {
  plates  8k 2R { pA HT pB }
  speaker 15R 0.001R { spk gnd }
}
spk -- ${speaker} -- gnd
${extra}`;
const biased = (extra = "", speaker?: string) =>
  el84(
    "k",
    `k -- resistor R3 130R 5W -- gnd\nk -- capacitor C1 100u 25V electrolytic -- gnd\n${extra}`,
    speaker,
  );

describe("stages as files write them", () => {
  test("two EL84 at 300 V on 130 ohm into 8 kohm (Philips sheet): currents and power within 15 %", () => {
    const analysis = amplifier(biased());
    const [result] = analysis.drive("nominal");
    const last = result.levels[result.levels.length - 1];
    const sum = (level: typeof last, electrode: string) =>
      level.readings.get(`V1.${electrode}`)!.amps + level.readings.get(`V2.${electrode}`)!.amps;
    expect(result.solved).toBe(true);
    expect(Math.abs(sum(result.levels[0], "plate") / 0.072 - 1)).toBeLessThan(0.15);
    expect(Math.abs(sum(last, "plate") / 0.092 - 1)).toBeLessThan(0.15);
    expect(Math.abs(sum(last, "screen") / 0.022 - 1)).toBeLessThan(0.15);
    expect(Math.abs(result.watts / 17 - 1)).toBeLessThan(0.15);
    expect(result.loadOhms! / 8000).toBeCloseTo(1, 3);
    // At rest the drive says what the dc solution says.
    const idle = analysis.solution("idle", "nominal")!;
    expect(result.levels[0].readings.get("V1.plate")!.amps).toBeCloseTo(
      idle.readings.get("V1.plate")!.amps!,
      5,
    );
    expect(result.levels[0].readings.get("V1.plate")!.watts).toBeCloseTo(
      idle.readings.get("V1.plate")!.watts!,
      2,
    );
  });
  test("the bias shifts under drive, and its resistor takes the current", () => {
    const [result] = amplifier(biased()).drive("nominal");
    const first = result.levels[0].readings;
    const last = result.levels[result.levels.length - 1].readings;
    expect(last.get("R3")!.amps).toBeGreaterThan(1.1 * first.get("R3")!.amps);
    const cathodes = last.get("V1.cathode")!.amps + last.get("V2.cathode")!.amps;
    expect(last.get("R3")!.amps / cathodes).toBeCloseTo(1, 2);
    expect(last.get("R3")!.watts).toBeCloseTo(cathodes ** 2 * 130, 1);
    expect(result.worst.get("R3")!.level).toBe(1);
    // The swing reaches from the bias under drive, not from that at rest.
    expect(result.gridVoltsPeak! / (130 * cathodes)).toBeCloseTo(1, 2);
  });
  test("class A plates are hottest at rest, screens at full drive", () => {
    const [result] = amplifier(biased()).drive("nominal");
    expect(result.worst.get("V1.plate")!.level).toBe(0);
    expect(result.worst.get("V1.screen")!.level).toBe(1);
  });
  test("class B plates are hottest between", () => {
    // Fixed bias of the sheet's class B row.
    const text = el84("gnd")
      .replace("310.4V", "300V")
      .replace("-- resistor R1 470k 0.5W -- gnd", "-- resistor R1 470k 0.5W -- bias")
      .replace(
        "-- resistor R2 470k 0.5W -- gnd",
        "-- resistor R2 470k 0.5W -- bias\ngnd -- source B2 14.7V -- bias",
      );
    const [result] = amplifier(text).drive("nominal");
    const { level, watts } = result.worst.get("V1.plate")!;
    expect(level).toBeGreaterThan(0.2);
    expect(level).toBeLessThan(1);
    expect(watts).toBeGreaterThan(result.levels[0].readings.get("V1.plate")!.watts);
    expect(watts).toBeGreaterThan(result.levels[result.levels.length - 1].readings.get("V1.plate")!.watts);
    expect(Math.abs(result.watts / 17 - 1)).toBeLessThan(0.15);
  });
  test("the speaker that is fitted is the load that is seen, and none is told", () => {
    const [matched] = amplifier(biased()).drive("nominal");
    const [half] = amplifier(biased("", "speaker LS1 7.5R 25W")).drive("nominal");
    expect(half.loadOhms! / matched.loadOhms!).toBeCloseTo(0.5, 3);
    const [two] = amplifier(biased("spk -- speaker LS2 15R 25W -- gnd")).drive("nominal");
    expect(two.loadOhms).toBeCloseTo(half.loadOhms!, 3);
    const [none] = amplifier(biased().replace(/^spk .*$/m, "")).drive("nominal");
    expect(none.loadFitted).toBe(false);
    expect(none.loadOhms).toBe(8000);
    // A feedback resistor is no load.
    const [fed] = amplifier(
      biased("spk -- resistor R9 10k 0.5W -- k1\nk1 -- resistor R10 1k 0.5W -- gnd"),
    ).drive("nominal");
    expect(fed.loadOhms).toBeCloseTo(matched.loadOhms!, 6);
  });
  test("a pair beside a pair into half the load gives twice the power", () => {
    const [one] = amplifier(biased()).drive("nominal");
    const four = biased(`
valve V3 EL84 { plate: pA, screen: HT, grid: g1, cathode: k, heater: h1 h2 }
valve V4 EL84 { plate: pB, screen: HT, grid: g2, cathode: k, heater: h1 h2 }`)
      .replace("130R", "65R")
      .replace("8k 2R", "4k 1R");
    const [two] = amplifier(four).drive("nominal");
    expect(two.watts / one.watts).toBeCloseTo(2, 2);
    expect(two.worst.get("V3.screen")!.watts).toBeCloseTo(one.worst.get("V1.screen")!.watts, 2);
  });
  test("ultra-linear lies between a pentode and a triode", () => {
    const tapped = (share: number) =>
      biased()
        .replace(/screen: HT, grid: g1/, "screen: uA, grid: g1")
        .replace(/screen: HT, grid: g2/, "screen: uB, grid: g2")
        .replace("8k 2R { pA HT pB }", `8k 2R ${share}% { pA uA HT uB pB }`);
    const triode = biased()
      .replace(/screen: HT, grid: g1/, "screen: pA, grid: g1")
      .replace(/screen: HT, grid: g2/, "screen: pB, grid: g2");
    const watts = [biased(), tapped(2), tapped(43), tapped(98), triode].map(
      (text) => amplifier(text).drive("nominal")[0].watts,
    );
    expect(watts[1] / watts[0]).toBeCloseTo(1, 1);
    expect(watts[2]).toBeLessThan(watts[0]);
    expect(watts[2]).toBeGreaterThan(watts[4]);
    expect(watts[3] / watts[4]).toBeCloseTo(1, 1);
  });
  test("screen stoppers drop at the peaks; one common to both is met by both", () => {
    const stopped = biased("HT -- resistor R20 1k 2W -- sA\nHT -- resistor R21 1k 2W -- sB")
      .replace(/screen: HT, grid: g1/, "screen: sA, grid: g1")
      .replace(/screen: HT, grid: g2/, "screen: sB, grid: g2");
    const [result] = amplifier(stopped).drive("nominal");
    const [plain] = amplifier(biased()).drive("nominal");
    expect(result.watts).toBeLessThan(plain.watts);
    expect(result.worst.get("V1.screen")!.watts).toBeLessThan(plain.worst.get("V1.screen")!.watts);
    const last = result.levels[result.levels.length - 1].readings;
    // Its heat is that of the rms current, more than that of the average.
    expect(last.get("R20")!.watts).toBeGreaterThan(1000 * last.get("V1.screen")!.amps ** 2);
    expect(last.get("R20")!.amps ** 2 * 1000).toBeCloseTo(last.get("R20")!.watts, 6);
  });
  test("without its bypass a cathode follows the signal: less power for the grid's swing, more swing taken", () => {
    const bare = biased().replace(/^k -- capacitor.*$/m, "");
    const [result] = amplifier(bare).drive("nominal");
    const [held] = amplifier(biased()).drive("nominal");
    expect(result.solved).toBe(true);
    expect(result.gridVoltsPeak!).toBeGreaterThan(held.gridVoltsPeak! * 0.9);
    expect(Math.abs(result.watts / held.watts - 1)).toBeLessThan(0.5);
  });
  test("a supply with resistance gives less at full drive than at rest", () => {
    const [stiff] = amplifier(biased()).drive("nominal");
    const [soft] = amplifier(biased().replace("310.4V", "330V 250R")).drive("nominal");
    const volts = (r: typeof stiff, i: number) => r.levels[i].readings.get("V1.plate")!.peakVolts!;
    expect(volts(soft, 0)).toBeGreaterThan(volts(stiff, 0) * 0.97);
    const drop = soft.levels[soft.levels.length - 1].readings;
    expect(drop.get("V1.plate")!.amps).toBeLessThan(
      stiff.levels[stiff.levels.length - 1].readings.get("V1.plate")!.amps,
    );
  });
  test("a winding written without resistance is a winding still", () => {
    const [result] = amplifier(biased().replace("8k 2R", "8k 0R")).drive("nominal");
    const [normal] = amplifier(biased()).drive("nominal");
    expect(result.watts / normal.watts).toBeCloseTo(1, 1.5);
  });
  test("a single-ended EL84 at 250 V on 135 ohm into 5.2 kohm (Philips sheet): 5.7 W", () => {
    const [result] = amplifier(`
amp "bench"
HT -- source B1 257.2V -- gnd
valve V1 EL84 { plate: p, screen: HT, grid: g, cathode: k, heater: h1 h2 }
g -- resistor R1 1M 0.5W -- gnd
k -- resistor R3 135R 2W -- gnd
k -- capacitor C1 100u 25V electrolytic -- gnd
output-transformer T1 6W {
  plates  5k2 1R 60mA { p HT }
  speaker 15R 0.001R { spk gnd }
}
spk -- speaker LS1 15R 10W -- gnd`).drive("nominal");
    expect(Math.abs(result.watts / 5.7 - 1)).toBeLessThan(0.15);
    expect(Math.abs(result.levels[0].readings.get("V1.plate")!.amps / 0.048 - 1)).toBeLessThan(0.08);
    expect(Math.abs(result.worst.get("V1.screen")!.watts / (250 * 0.0108) - 1)).toBeLessThan(0.2);
  });
  test("no stage, no result; a valve without a law is left out", () => {
    expect(amplifier(biased().replace(/EL84/g, "EL999")).drive("nominal")).toEqual([]);
    expect(amplifier('amp "empty"\nHT -- resistor R1 1k 1W -- gnd').drive("nominal")).toEqual([]);
  });
});

test("whatever the stage, figures are finite and energy is kept", () => {
  const types = ["EL84", "EL34", "6L6GC", "6V6GTA", "KT88", "6AQ5A", "KT66", "6550A"];
  fc.assert(
    fc.property(
      fc.constantFrom(...types),
      fc.integer({ min: 120, max: 600 }),
      fc.integer({ min: 20, max: 1500 }),
      fc.integer({ min: 800, max: 15000 }),
      fc.integer({ min: 1, max: 600 }),
      fc.integer({ min: 2, max: 32 }),
      fc.boolean(),
      (type, supply, rk, load, winding, speaker, bypassed) => {
        const text = el84(
          "k",
          `k -- resistor R3 ${rk}R 5W -- gnd\n${bypassed ? "k -- capacitor C1 100u 100V electrolytic -- gnd" : ""}`,
        )
          .replace(/EL84/g, type)
          .replace("310.4V", `${supply}V 50R`)
          .replace("8k 2R", `${load}R ${winding}R`)
          .replace("LS1 15R", `LS1 ${speaker}R`);
        for (const result of amplifier(text).drive("nominal")) {
          expect(Number.isFinite(result.watts)).toBe(true);
          expect(result.watts).toBeGreaterThanOrEqual(0);
          for (const { watts, readings } of result.levels) {
            let plates = 0;
            let amps = 0;
            for (const [key, reading] of readings) {
              for (const value of Object.values(reading)) expect(Number.isFinite(value), key).toBe(true);
              if (key.endsWith(".plate")) {
                plates += reading.watts;
                amps += reading.amps;
              }
            }
            // Plates and load together never take more than the plates' share of the supply.
            expect(plates + watts).toBeLessThan(supply * amps * 1.01 + 0.01);
          }
        }
      },
    ),
    { numRuns: 120, seed: 4 },
  );
});

/** Two directly heated triodes in push-pull on one bias resistor, their filaments fed in turn by what `filament` has. */
const triodes = (winding: string, filament: string) => `
amp "bench"
mains 230 V 50 Hz
assume mains +0% -0%
transformer T2 30VA {
  primary 230V 10R { l n }
  ${winding}
}
HT -- source B1 360V -- gnd
valve V1 2A3 { plate: pA, grid: g1, filament: fa fb }
valve V2 2A3 { plate: pB, grid: g2, filament: fa fb }
g1 -- resistor R1 220k 0.5W -- gnd
g2 -- resistor R2 220k 0.5W -- gnd
${filament}
k -- resistor R3 780R 10W wirewound -- gnd
k -- capacitor C1 100u 100V electrolytic -- gnd
output-transformer T1 20W {
  plates  5k 150R { pA HT pB }
  speaker 8R      { spk gnd }
}
spk -- speaker LS1 8R 25W -- gnd
`;

describe("the bias resistor of directly heated valves", () => {
  const across = "fil 2.5V 6A 0.02R { fa fb }";
  const wirings: readonly [string, string, string][] = [
    ["on the filament winding's tap", "fil 1.25-0-1.25V 6A 0.02R { fa k fb }", ""],
    ["on a pot's wiper", across, "pot RV1 50R wirewound linear 3W { top: fa, wiper: k, bottom: fb }"],
    ["between two resistors", across, "fa -- resistor R4 22R 1W -- k -- resistor R5 22R 1W -- fb"],
    [
      "on the minus of direct current",
      "fil 7V 8A 0.05R { x y }",
      `bridge BR1 25A 100V { ac1: x, ac2: y, plus: d, minus: k }
d -- capacitor C2 22000u 16V electrolytic -- k
d -- resistor R4 0.6R 50W -- fa
fb -- wire -- k`,
    ],
  ];
  for (const [name, winding, filament] of wirings) {
    // By Kirchhoff: there is no other way for the cathode currents. By the sheet (RCA 2A3, 300 V and 62 V of cathode bias, 80 mA without
    // signal) the figures are of the right size.
    test(`${name} takes the cathodes' current at every level`, () => {
      const analysis = amplifier(triodes(winding, filament));
      const [result] = analysis.drive("nominal");
      expect(result.solved).toBe(true);
      for (const { level, readings } of result.levels) {
        const cathodes = readings.get("V1.cathode")!.amps + readings.get("V2.cathode")!.amps;
        const { amps, watts } = readings.get("R3")!;
        expect(amps / cathodes, `at ${level}`).toBeCloseTo(1, 2);
        expect(watts / (cathodes ** 2 * 780), `at ${level}`).toBeCloseTo(1, 1);
      }
      const [rest] = result.levels;
      expect(Math.abs(rest.readings.get("R3")!.amps / 0.08 - 1)).toBeLessThan(0.15);
      const idle = analysis.solution("idle", "nominal")!.readings.get("R3")!;
      expect(rest.readings.get("R3")!.watts / idle.watts!).toBeCloseTo(1, 2);
      expect(result.worst.get("R3")!.watts).toBeGreaterThan(1.1 * idle.watts!);
    });
  }
});
