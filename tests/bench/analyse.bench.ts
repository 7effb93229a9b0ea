/**
 * Cost of the physics: one amplifier in all its states at all mains levels, and repeated stages from 100 to 10,000 parts, whose
 * growth should stay near straight (exponent at most 1.05).
 */
import { readFileSync } from "node:fs";
import { bench, describe } from "vitest";
import { parse } from "../../grammar/parse.ts";
import { buildCircuit } from "../../server/circuit/build.ts";
import { analyse } from "../../server/physics/analyse.ts";
import { Bench } from "../physics/circuits.ts";

function sample(name: string) {
  const text = readFileSync(new URL(`../../samples/${name}.ampnet`, import.meta.url), "utf8");
  return buildCircuit(`${name}.ampnet`, text, parse(text)).circuit;
}

const levels = ["nominal", "low", "high"] as const;

for (const name of ["fantail-5", "currawong-15", "brolga-35"]) {
  const circuit = sample(name);
  describe(`${name}, ${circuit.parts.length} parts`, () => {
    bench("every state at every mains level", () => {
      const analysis = analyse(circuit);
      for (const state of analysis.states) for (const level of levels) analysis.solution(state, level);
    });
    bench("the same with every reading, and the band of every net", () => {
      const analysis = analyse(circuit);
      for (const state of analysis.states) {
        for (const level of levels) {
          const solution = analysis.solution(state, level)!;
          void solution.readings;
          for (const net of circuit.nets) solution.netBand(net.index);
        }
      }
    });
  });
}

/** Gain stages on rails of eight, from one ideal supply: five parts a stage. */
function stages(count: number) {
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
    const circuit = stages(count);
    bench(`${circuit.parts.length} parts, idle from cold`, () => {
      analyse(circuit).solution("idle", "nominal");
    });
  }
});
