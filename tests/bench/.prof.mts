import { parse } from "../../grammar/parse.ts";
import { buildCircuit } from "../../server/circuit/build.ts";
import { analyse } from "../../server/physics/analyse.ts";
import { amplifier } from "./amplifier.ts";
const text = amplifier();
const N = Number(process.env.N ?? 300);
const t: number[] = [];
const { circuit } = buildCircuit("a", text, parse(text));
for (let i = 0; i < N; i++) {
  const c = { ...circuit };
  const a = performance.now();
  const analysis = analyse(c);
  for (const s of analysis.states) for (const l of ["nominal", "low", "high"] as const) analysis.solution(s, l)!.volts[0];
  t.push(performance.now() - a);
}
t.sort((x, y) => x - y); console.log("min", t[0].toFixed(2), "q1", t[N >> 2].toFixed(2), "med", t[N >> 1].toFixed(2));
