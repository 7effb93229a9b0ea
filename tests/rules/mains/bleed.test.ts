/** The resistance between two nets of the mains side, held against mathjs's LU on random networks. */
import { all, create } from "mathjs";
import { describe, expect, it } from "vitest";
import { check } from "../../../server/check.ts";
import { charged } from "../../../server/rules/mains/bleed.ts";
import { mainsSide } from "../../../server/rules/mains/graph.ts";

const math = create(all);

/** A small generator of its own, so that a failure can be seen again. */
function random(seed: number): () => number {
  let state = seed;
  return () => {
    state = (state * 1664525 + 1013904223) % 2 ** 32;
    return state / 2 ** 32;
  };
}

describe("discharge resistance", () => {
  it.each(Array.from({ length: 25 }, (_, seed) => seed + 1))("network %d", (seed) => {
    const next = random(seed);
    const nets = ["inA", "inN", ...Array.from({ length: 4 }, (_, i) => `m${i}`)];
    const links: { a: number; b: number; kilohms: number }[] = [];
    // A tree first, so that all hang together; then some more.
    for (let i = 1; i < nets.length; i++)
      links.push({ a: i, b: Math.floor(next() * i), kilohms: 10 + Math.round(next() * 900) });
    for (let i = 0; i < 5; i++) {
      const [a, b] = [Math.floor(next() * nets.length), Math.floor(next() * nets.length)];
      if (a !== b) links.push({ a, b, kilohms: 10 + Math.round(next() * 900) });
    }
    const text = `amp "Network"
mains 230 V 50 Hz AU
inlet J9 10A { active: inA, neutral: inN, earth: inE }
${links.map(({ a, b, kilohms }, i) => `${nets[a]} -- resistor R${i + 1} ${kilohms}k 1W 500V -- ${nets[b]}`).join("\n")}
inA -- capacitor C1 220n X2 275VAC film -- inN
`;
    const { circuit } = check("network.ampnet", text);
    const side = mainsSide(circuit);
    const capacitor = circuit.partByReference.get("C1");
    if (!side || capacitor?.kind !== "capacitor") throw new Error("the network did not build");

    // One ampere in at inA and out at inN; inN is held at zero.
    const size = nets.length - 1;
    const index = (net: number) => (net === 1 ? -1 : net === 0 ? 0 : net - 1);
    const matrix = Array.from({ length: size }, () => new Array<number>(size).fill(0));
    for (const { a, b, kilohms } of links) {
      const g = 1 / (kilohms * 1000);
      const [i, j] = [index(a), index(b)];
      if (i >= 0) matrix[i][i] += g;
      if (j >= 0) matrix[j][j] += g;
      if (i >= 0 && j >= 0) {
        matrix[i][j] -= g;
        matrix[j][i] -= g;
      }
    }
    const amperes = new Array<number>(size).fill(0);
    amperes[0] = 1;
    const volts = math.lusolve(matrix, amperes) as number[][];
    const [{ ohms }] = charged(side, [capacitor], new Map());
    expect(ohms / volts[0][0]).toBeCloseTo(1, 9);
  });
});
