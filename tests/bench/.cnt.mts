import { parse } from "../../grammar/parse.ts";
import { buildCircuit } from "../../server/circuit/build.ts";
import { analyse } from "../../server/physics/analyse.ts";
import { work } from "../../server/physics/supply/work.ts";
import { amplifier } from "./amplifier.ts";
import { Sweep } from "../../server/physics/supply/sweep.ts";
import { Cycle } from "../../server/physics/supply/cycle.ts";
const text = amplifier();
const run = (log: boolean) => {
  const { circuit } = buildCircuit("a", text, parse(text));
  const analysis = analyse(circuit);
  for (const s of analysis.states) for (const l of ["nominal", "low", "high"] as const) {
    const before = { ...work };
    const a = performance.now();
    const sol: any = analysis.solution(s, l)!; sol.volts[0];
    const ms = performance.now() - a;
    if (log) console.log(s.padEnd(8), l.padEnd(8), ms.toFixed(2), Object.entries(work).map(([k, v]) => `${k} ${v - (before as any)[k]}`).join("  "), "dc iter", sol.plant.result.iterations, "size", sol.plant.plant.system.size);
  }
};
for (let i = 0; i < 100; i++) run(false);
run(true);
const orig = Cycle.prototype.solve; 
(Cycle.prototype as any).solve = function (peak: number, drives: Float64Array, close?: number) { const a = performance.now(); const s0 = work.steps; const r = orig.call(this, peak, drives, close); console.log("   solve", (this as any).nx, (this as any).np, (this as any).nd, (this as any).no, "cycles", r.cycles, "close", close, "left", r.left.toExponential(1), "ms", (performance.now() - a).toFixed(2), "steps", work.steps - s0, "drives", [...drives].map(d => d.toFixed(5)).join(" "), peak.toFixed(0)); return r; };
run(true);
