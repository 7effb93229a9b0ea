/** Random networks for the physics tests; seeded, so that a failure comes again. */

/** Mulberry32: a small public-domain generator. */
export function seeded(seed: number): () => number {
  let state = seed | 0;
  return () => {
    state = (state + 0x6d2b79f5) | 0;
    let t = Math.imul(state ^ (state >>> 15), 1 | state);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}

export interface RandomNetwork {
  readonly size: number;
  readonly rows: number[];
  readonly columns: number[];
  readonly values: number[];
}

/**
 * The matrix of a random circuit: resistors in a tree with some cross links, rails that many parts hang on, controlled sources
 * (valves), and ideal sources with their branch equations.
 */
export function randomNetwork(random: () => number, nodes: number): RandomNetwork {
  const rows: number[] = [];
  const columns: number[] = [];
  const values: number[] = [];
  const add = (row: number, column: number, value: number): void => {
    if (row < 0 || column < 0) return;
    rows.push(row);
    columns.push(column);
    values.push(value);
  };
  const conductance = (): number => 10 ** (-1 - random() * 5);
  const resistor = (a: number, b: number): void => {
    if (a === b) return;
    const g = conductance();
    add(a, a, g);
    add(b, b, g);
    add(a, b, -g);
    add(b, a, -g);
  };
  const rails = Math.max(1, Math.floor(nodes / 50));
  const pick = (): number => Math.floor(random() * nodes);
  // A part hangs on a rail of its own neighbourhood, as the stages of an amplifier do.
  const railOf = (i: number): number =>
    Math.min(rails - 1, Math.max(0, Math.floor((i / nodes) * rails + random() * 2 - 0.5)));
  for (let i = 0; i < nodes; i++) {
    if (i < rails) resistor(i, i - 1);
    else if (random() < 0.4) resistor(i, railOf(i));
    else resistor(i, i - 1);
    if (random() < 0.25) resistor(i, -1);
    if (random() < 0.05) resistor(i, Math.max(0, i - 1 - Math.floor(random() * 8)));
    if (random() < 0.1 && i > 4) {
      const plate = i;
      const grid = i - 1 - Math.floor(random() * 3);
      const cathode = i - 4;
      const gm = conductance() / 10;
      add(plate, grid, gm);
      add(plate, cathode, -gm);
      add(cathode, grid, -gm);
      add(cathode, cathode, gm);
    }
  }
  let size = nodes;
  const used = new Set<number>();
  const sources = 1 + Math.floor(nodes / 30);
  for (let s = 0; s < sources; s++) {
    const plus = pick();
    if (used.has(plus)) continue;
    used.add(plus);
    const branch = size++;
    add(branch, plus, 1);
    add(plus, branch, 1);
  }
  return { size, rows, columns, values };
}
