/** Cost of the sparse solver: a numeric refactorisation of 150 and 10,000 nodes, beside the solves that go with it. */
import { lusolve } from "mathjs";
import { bench, describe } from "vitest";
import { buildPattern } from "../../server/physics/linear/pattern.ts";
import { SparseLu } from "../../server/physics/linear/sparse-lu.ts";
import { randomNetwork, seeded } from "../physics/networks.ts";

function prepare(nodes: number) {
  const network = randomNetwork(seeded(3), nodes);
  const { pattern, entry } = buildPattern(network.size, network.rows, network.columns);
  const values = new Float64Array(pattern.rows.length);
  network.values.forEach((value, k) => {
    values[entry[k]] += value;
  });
  const lu = new SparseLu(pattern);
  lu.factor(values);
  return { network, pattern, values, lu, x: new Float64Array(network.size) };
}

for (const nodes of [150, 1000, 10_000]) {
  const { network, pattern, values, lu, x } = prepare(nodes);
  describe(`${nodes} nodes`, () => {
    bench("order (pair rows, minimum degree)", () => {
      new SparseLu(pattern);
    });
    bench("refactor", () => {
      lu.factor(values);
    });
    bench("solve", () => {
      x.fill(1e-3);
      lu.solve(x, x);
    });
    if (nodes === 150) {
      const dense = Array.from({ length: network.size }, () => new Array<number>(network.size).fill(0));
      network.rows.forEach((row, k) => {
        dense[row][network.columns[k]] += network.values[k];
      });
      const right = new Array<number>(network.size).fill(1e-3);
      bench("the same by mathjs lusolve, dense", () => {
        lusolve(dense, right);
      });
    }
  });
}
