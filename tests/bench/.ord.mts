import { readFileSync } from "node:fs";
import { parse } from "../../grammar/parse.ts";
import { buildCircuit } from "../../server/circuit/build.ts";
import { analyse } from "../../server/physics/analyse.ts";
import { laterPhasors } from "../../server/physics/supply/ripple.ts";
import { atOnce } from "../../server/circuit/in-steps.ts";
for (const f of process.argv.slice(2)) { const text = readFileSync(f, "utf8"); const { circuit } = buildCircuit("a", text, parse(text)); const an = analyse(circuit);
for (const s of an.states) { const sol: any = an.solution(s, "nominal"); console.log(f, s, [...atOnce(laterPhasors(sol.network)).harmonics.keys()].join(" ")); } }
