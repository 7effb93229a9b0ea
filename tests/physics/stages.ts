/** Generated valve stages, sound and silly: what Newton's method has to cope with, from cold and without hints. */
import { Bench } from "./circuits.ts";

const twins = ["ECC83", "12AU7A", "12AT7", "6SN7GTB", "6SL7GT", "6DJ8", "12AY7"];
const pentodes = ["EF86", "6AU6A"];
const power = ["EL84", "EL34", "6L6GC", "6V6GTA", "KT88", "6AQ5A", "KT66"];

/** One generated amplifier fragment on an ideal supply. */
export function generateStage(random: () => number, spread = 0): Bench {
  const bench = new Bench();
  bench.spread = spread;
  bench.net("gnd");
  const pick = <T>(list: readonly T[]): T => list[Math.floor(random() * list.length)];
  const between = (low: number, high: number): number => low * (high / low) ** random();
  const supply = between(40, 800);
  bench.source("S1", "HT", "gnd", supply, random() < 0.5 ? 0 : between(10, 2000));
  let part = 0;
  const resistor = (a: string, b: string, low: number, high: number): void => {
    bench.resistor(`R${part++}`, a, b, between(low, high), pick([0.01, 0.05, 0.1, 0.2]));
  };
  let valve = 0;
  let net = 0;
  const fresh = (): string => `n${net++}`;
  /** Where the next grid may be coupled to directly. */
  let last: string | undefined;
  const rails = ["HT"];
  if (random() < 0.6) {
    resistor("HT", "HT2", 100, 47e3);
    bench.capacitor("CR", "HT2", "gnd", 20e-6, true);
    rails.push("HT2");
  }
  const gridFor = (): string => {
    const grid = fresh();
    const way = random();
    if (last && way < 0.35) {
      if (random() < 0.5) resistor(last, grid, 1e3, 470e3);
      else return last;
    } else if (way < 0.5) {
      bench.source(`B${part++}`, "gnd", `${grid}b`, between(1, 60));
      resistor(`${grid}b`, grid, 10e3, 1e6);
    } else if (way < 0.6) {
      // A divider from the supply.
      resistor(pick(rails), grid, 100e3, 2.2e6);
      resistor(grid, "gnd", 10e3, 1e6);
    } else resistor(grid, "gnd", 47e3, 10e6);
    return grid;
  };
  const cathodeFor = (heavy: boolean): string => {
    const way = random();
    if (way < 0.1) return "gnd";
    const cathode = fresh();
    if (way < 0.9) resistor(cathode, "gnd", heavy ? 30 : 200, heavy ? 1e3 : 100e3);
    else {
      bench.diode(`D${part++}`, cathode, "gnd");
      if (random() < 0.5) resistor(cathode, "gnd", 1e3, 100e3);
    }
    return cathode;
  };
  const stages = 1 + Math.floor(random() * 5);
  for (let s = 0; s < stages; s++) {
    const reference = `V${++valve}`;
    const kind = random();
    const rail = pick(rails);
    if (kind < 0.3) {
      const plate = fresh();
      resistor(rail, plate, 1e3, 470e3);
      bench.valve(reference, pick(twins), { a: { plate, grid: gridFor(), cathode: cathodeFor(false) } });
      last = plate;
    } else if (kind < 0.42) {
      const cathode = fresh();
      resistor(cathode, "gnd", 1e3, 220e3);
      bench.valve(reference, pick(twins), { a: { plate: rail, grid: gridFor(), cathode } });
      if (random() < 0.2) bench.diode(`D${part++}`, last ?? "gnd", cathode);
      last = cathode;
    } else if (kind < 0.55) {
      // Long-tailed pair, or both sections on one cathode.
      const [p1, p2, cathode] = [fresh(), fresh(), fresh()];
      resistor(rail, p1, 10e3, 330e3);
      resistor(rail, p2, 10e3, 330e3);
      resistor(cathode, "gnd", 500, 100e3);
      const g1 = gridFor();
      bench.valve(reference, pick(twins), {
        a: { plate: p1, grid: g1, cathode },
        b: { plate: p2, grid: random() < 0.5 ? g1 : gridFor(), cathode },
      });
      last = pick([p1, p2]);
    } else if (kind < 0.65) {
      // One valve standing on another: cascode or series-regulated push-pull.
      const middle = fresh();
      const upper = fresh();
      const top = random() < 0.5 ? rail : fresh();
      if (top !== rail) resistor(rail, top, 10e3, 220e3);
      const tied = random() < 0.5;
      if (!tied) resistor(upper, middle, 100, 5e3);
      const grid = random() < 0.5 ? middle : fresh();
      if (grid !== middle) {
        resistor(rail, grid, 100e3, 1e6);
        resistor(grid, "gnd", 47e3, 1e6);
      }
      const cathode = cathodeFor(false);
      bench.valve(reference, pick(twins), {
        a: { plate: middle, grid: gridFor(), cathode },
        b: { plate: top, grid, cathode: tied ? middle : upper },
      });
      last = top === rail ? middle : top;
    } else if (kind < 0.72) {
      const plate = fresh();
      const screen = fresh();
      resistor(rail, plate, 22e3, 470e3);
      resistor(rail, screen, 47e3, 2.2e6);
      if (random() < 0.5) bench.zener(`Z${part++}`, "gnd", screen, between(50, 150));
      bench.valve(reference, pick(pentodes), {
        "": { plate, screen, grid: gridFor(), cathode: cathodeFor(false) },
      });
      last = plate;
    } else if (kind < 0.8) {
      // Split load.
      const [plate, cathode] = [fresh(), fresh()];
      resistor(rail, plate, 10e3, 100e3);
      resistor(cathode, "gnd", 10e3, 100e3);
      bench.valve(reference, pick(twins), { a: { plate, grid: gridFor(), cathode } });
      last = plate;
    } else if (kind < 0.9) {
      const plate = fresh();
      const screen = random() < 0.3 ? plate : random() < 0.5 ? rail : fresh();
      if (screen !== plate && screen !== rail) resistor(rail, screen, 47, 10e3);
      bench.outputTransformer(`T${part++}`, [plate, rail], between(20, 500));
      bench.valve(reference, pick(power), {
        "": { plate, screen, grid: gridFor(), cathode: cathodeFor(true) },
      });
    } else {
      // Push-pull on one cathode.
      const [pA, pB] = [fresh(), fresh()];
      const cathode = cathodeFor(true);
      const type = pick(power);
      bench.outputTransformer(`T${part++}`, [pA, rail, pB], between(40, 500));
      bench.valve(reference, type, { "": { plate: pA, screen: rail, grid: gridFor(), cathode } });
      bench.valve(`V${++valve}`, type, { "": { plate: pB, screen: rail, grid: gridFor(), cathode } });
    }
    if (random() < 0.1) resistor(last ?? rail, pick(rails), 100e3, 2.2e6);
  }
  return bench;
}
