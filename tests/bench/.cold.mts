import { readFileSync } from "node:fs";
import { parse } from "../../grammar/parse.ts";
import { buildCircuit } from "../../server/circuit/build.ts";
import { analyse } from "../../server/physics/analyse.ts";
import { runRules } from "../../server/rules/run.ts";
const text = readFileSync(process.argv[2], "utf8");
const t: [string, number][] = []; let a = performance.now();
const lap = (k: string) => { const b = performance.now(); t.push([k, b - a]); a = performance.now(); };
const tree = parse(text); lap("parse");
const { circuit } = buildCircuit("a", text, tree); lap("build");
const an = analyse(circuit); lap("analyse");
for (const s of an.states) { for (const l of ["nominal", "low", "high"] as const) an.solution(s, l)!.volts[0]; lap("state " + s); }
for (const s of an.states) for (const l of ["nominal", "low", "high"] as const) an.solution(s, l)!.readings.size; lap("readings");
an.discharge.get("high")?.warm; lap("discharge");
for (const l of ["nominal", "low", "high"] as const) an.drive(l); lap("drive");
runRules(circuit, an); lap("rules");
console.log(t.map(([k, v]) => k + " " + v.toFixed(1)).join("  "), "sum", t.reduce((s, [, v]) => s + v, 0).toFixed(1));
