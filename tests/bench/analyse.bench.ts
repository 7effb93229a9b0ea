/**
 * Cost of the physics: one amplifier in all its states at all mains levels, and repeated stages from 100 to 10,000 parts, whose
 * growth should stay near straight (exponent at most 1.05).
 */
import { readFileSync } from "node:fs";
import { bench, describe } from "vitest";
import { parse } from "../../grammar/parse.ts";
import { check } from "../../server/check.ts";
import { buildCircuit } from "../../server/circuit/build.ts";
import type { Circuit } from "../../server/circuit/model.ts";
import { analyse } from "../../server/physics/analyse.ts";
import type { Analysis } from "../../server/physics/results.ts";
import { conditionsOf } from "../../server/physics/states.ts";
import { findSupplies } from "../../server/physics/supply/index.ts";
import { findTopology } from "../../server/physics/topology.ts";
import { runRules } from "../../server/rules/run.ts";
import { Bench } from "../physics/circuits.ts";
import { amplifier } from "./amplifier.ts";

const sample = (name: string) =>
  readFileSync(new URL(`../../samples/${name}.ampnet`, import.meta.url), "utf8");

const levels = ["nominal", "low", "high"] as const;

/** Somewhere for results to go, so that nothing is left out. */
const sink = { value: 0 };

/** A process is warm once V8 has optimised what it does: some hundred checks. */
const warm = { warmupTime: 3000, time: 3000 };

/** Each stage with all before it: what one adds to the line above it is its own cost. */
const stages: readonly (readonly [string, (circuit: Circuit, analysis: Analysis) => void])[] = [
  [
    "conductors and supplies found",
    (circuit, { states }) => {
      for (const state of states) {
        const conditions = conditionsOf(circuit, state, "nominal");
        sink.value += findSupplies(circuit, findTopology(circuit, conditions.positions), conditions).length;
      }
    },
  ],
  [
    "every state solved at every mains level",
    (_, analysis) => {
      for (const state of analysis.states)
        for (const level of levels) sink.value += analysis.solution(state, level)!.volts[0];
    },
  ],
  [
    "and every reading, with the ripple of later nets",
    (_, analysis) => {
      for (const state of analysis.states)
        for (const level of levels) sink.value += analysis.solution(state, level)!.readings.size;
    },
  ],
  [
    "and the band of every net at high mains",
    (circuit, analysis) => {
      for (const state of analysis.states)
        for (const { index } of circuit.nets)
          sink.value += analysis.solution(state, "high")!.netBand(index).high;
    },
  ],
  ["and the discharge", (_, { discharge }) => void discharge.get("high")?.warm],
  ["and the output stage under drive", (_, analysis) => void analysis.drive("nominal")],
  [
    "and every rule, with the drive at the other levels",
    // A circuit of its own: what rules look up in it is found anew, as after a keystroke.
    (circuit, analysis) => {
      sink.value += runRules({ ...circuit }, analysis).checked;
    },
  ],
];

for (const [name, text] of [
  ["fantail-5", sample("fantail-5")],
  ["currawong-15", sample("currawong-15")],
  ["brolga-35", sample("brolga-35")],
  ["the same with six more channels", amplifier()],
] as const) {
  const { circuit } = buildCircuit(name, text, parse(text));
  describe(`${name}, ${circuit.parts.length} parts`, () => {
    stages.forEach(([title], last) => {
      bench(
        title,
        () => {
          const analysis = analyse(circuit);
          for (const [, run] of stages.slice(last === 0 ? 0 : 1, last + 1)) run(circuit, analysis);
        },
        warm,
      );
    });
    bench(
      "everything, from the text to the findings",
      () => {
        sink.value += check(name, text).findings.length;
      },
      warm,
    );
    bench("yardstick: a million additions", () => {
      for (let i = 0; i < 1e6; i++) sink.value += i & 1;
    });
  });
}

/** Gain stages on rails of eight, from one ideal supply: five parts a stage. */
function repeated(count: number) {
  const built = new Bench();
  built.net("gnd");
  built.source("S1", "HT", "gnd", 320);
  for (let s = 0; s < count; s++) {
    const rail = `HT${Math.floor(s / 8)}`;
    if (s % 8 === 0) built.resistor(`RR${s}`, "HT", rail, 1000).capacitor(`CR${s}`, rail, "gnd", 1e-5, true);
    built.resistor(`RP${s}`, rail, `p${s}`, 100e3).resistor(`RK${s}`, `k${s}`, "gnd", 1500);
    built.resistor(`RG${s}`, `g${s}`, "gnd", 1e6).capacitor(`C${s}`, `p${s}`, `g${s + 1}`, 22e-9);
    built.valve(`V${s}`, "ECC83", { a: { plate: `p${s}`, grid: `g${s}`, cathode: `k${s}` } });
  }
  return built.circuit();
}

describe("growth", () => {
  for (const count of [20, 200, 2000]) {
    const circuit = repeated(count);
    bench(`${circuit.parts.length} parts, idle from cold`, () => {
      analyse(circuit).solution("idle", "nominal");
    });
  }
});

describe("growth of a whole check", () => {
  for (const channels of [6, 20, 60]) {
    const text = amplifier(channels);
    const { circuit } = buildCircuit("growth", text, parse(text));
    bench(`${circuit.parts.length} parts, from the text to the findings`, () => {
      sink.value += check("growth", text).findings.length;
    });
  }
});
