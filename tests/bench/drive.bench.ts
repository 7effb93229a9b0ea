/** One amplifier's sweep to the onset, warm: under 5 ms is asked for. The yardstick is 1e6 additions at the same moment. */
import { readFileSync } from "node:fs";
import { bench, describe } from "vitest";
import { parse } from "../../grammar/parse.ts";
import { buildCircuit } from "../../server/circuit/build.ts";
import { analyse } from "../../server/physics/analyse.ts";
import { driveStages } from "../../server/physics/drive/index.ts";
import { sectionLaw } from "../../server/physics/laws/index.ts";
import type { DcSolution } from "../../server/physics/solution.ts";

/** Somewhere for results to go, so that nothing is optimised away. */
const sink = { value: 0 };
for (const name of ["magpie-30", "cassowary-60", "chickadee-4"]) {
  const text = readFileSync(new URL(`../../samples/${name}.ampnet`, import.meta.url), "utf8");
  const { circuit } = buildCircuit(name, text, parse(text));
  const idle = analyse(circuit).solution("idle", "nominal") as DcSolution;
  describe(name, () => {
    bench("sweep of the output stage", () => {
      const [result] = driveStages({
        circuit,
        topology: idle.topology,
        nodeVolts: idle.nodeVolts,
        sourceOhms: (nodes, held) => idle.sourceOhms(nodes, held),
        lawOf: sectionLaw,
      });
      sink.value += result.watts;
    });
    bench("empty loop", () => {
      for (let i = 0; i < 1e6; i++) sink.value += i & 1;
    });
  });
}
describe("laws", () => {
  const out = new Float64Array(12);
  for (const type of ["EL84", "12AX7A"]) {
    const law = sectionLaw(type, "a")!;
    bench(`${type}, a thousand evaluations`, () => {
      for (let i = 0; i < 1000; i++) {
        law.evaluate(-(i % 20), 250, (i % 97) * 5 + 3, out);
        sink.value += out[0];
      }
    });
  }
});
