/** 2,000 generated valve stages from cold: every one has to converge, and Kirchhoff's current law is then held anew. */
import { describe, expect, it } from "vitest";
import type { Circuit } from "../../server/circuit/model.ts";
import { analyse } from "../../server/physics/analyse.ts";
import { sectionLaw, semiconductorLaw } from "../../server/physics/laws/index.ts";
import type { Solution } from "../../server/physics/results.ts";
import { seeded } from "./networks.ts";
import { generateStage } from "./stages.ts";

/** Net currents straight from the laws and Ohm's: no matrix, no device of the solver's. Sources and zeners by their reading. */
function netCurrents(circuit: Circuit, solution: Solution): { sum: Float64Array; scale: number } {
  const sum = new Float64Array(circuit.nets.length);
  let scale = 0;
  const v = solution.volts;
  const flow = (a: number, b: number, amps: number): void => {
    sum[a] += amps;
    sum[b] -= amps;
    scale = Math.max(scale, Math.abs(amps));
  };
  const out = new Float64Array(12);
  for (const part of circuit.parts) {
    const at = (name: string): number => part.terminals.get(name)!;
    if (part.kind === "resistor") flow(at("a"), at("b"), (v[at("a")] - v[at("b")]) / part.ohms.value);
    else if (part.kind === "source")
      flow(at("minus"), at("plus"), solution.readings.get(part.reference)!.amps!);
    else if (part.kind === "zener")
      flow(at("anode"), at("cathode"), solution.readings.get(part.reference)!.amps!);
    else if (part.kind === "diode") {
      semiconductorLaw().evaluate(v[at("anode")] - v[at("cathode")], out);
      flow(at("anode"), at("cathode"), out[0]);
    } else if (part.kind === "output-transformer") {
      const nets = part.plates!.nets;
      const ohms = part.plates!.resistance.value / (nets.length - 1);
      for (let s = 0; s + 1 < nets.length; s++)
        flow(nets[s], nets[s + 1], (v[nets[s]] - v[nets[s + 1]]) / ohms);
    } else if (part.kind === "valve") {
      for (const section of part.sections) {
        const net = (name: string): number | undefined => section.electrodes.get(name);
        const k = net("cathode")!;
        const screen = net("screen");
        const plate = net("plate")!;
        const grid = net("grid")!;
        const vs = screen === undefined ? 0 : v[screen] - v[k];
        sectionLaw(part.type!, section.name)!.evaluate(v[grid] - v[k], vs, v[plate] - v[k], out);
        flow(plate, k, out[0]);
        if (screen !== undefined) flow(screen, k, out[1]);
        flow(grid, k, out[2]);
      }
    }
  }
  return { sum, scale };
}

describe("generated valve stages", () => {
  it("converge from cold, all 2,000, with Kirchhoff's current law under 1 nA at every net", () => {
    const random = seeded(1947);
    let most = 0;
    for (let run = 0; run < 2000; run++) {
      const circuit = generateStage(random).circuit();
      const solution = analyse(circuit).solution("idle", "nominal")!;
      expect(solution.solved, `stage ${run}: ${solution.trouble?.message}`).toBe(true);
      const { sum, scale } = netCurrents(circuit, solution);
      for (const net of circuit.nets) {
        if (net.name === "gnd" || Number.isNaN(solution.volts[net.index])) continue;
        expect(Math.abs(sum[net.index]), `${net.name} of stage ${run}`).toBeLessThan(1e-9 + 1e-12 * scale);
        most = Math.max(most, Math.abs(sum[net.index]));
      }
    }
    expect(most).toBeLessThan(1e-9);
  }, 120_000);
});
