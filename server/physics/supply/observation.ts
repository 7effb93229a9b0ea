/**
 * What is told of an island's parts, before any cycle has been gone through: which waveforms, and how each reading comes from them.
 * The same for every mains level.
 */
import type { WindingSegment } from "./elements.ts";
import type { IslandPlan } from "./grow.ts";
import type { Recipes } from "./inner-readings.ts";
import type { IslandNetwork } from "./network.ts";
import { type Recipe, type Wave, WaveBook } from "./waves.ts";

export interface Observation {
  readonly book: WaveBook;
  /** Volts of the island's nodes from common. */
  readonly nodes: ReadonlyMap<number, Wave>;
  readonly recipes: ReadonlyMap<string, Recipes>;
  /** Ports by the rectifier's key: its peak into empty reservoirs is no waveform of the cycle. */
  readonly ports: ReadonlyMap<string, number>;
}

/** Watts lost in a resistance by the rms current. */
const loss = (amps: Wave, ohms: number): Recipe => ({
  kind: "product",
  wave: amps,
  other: amps,
  factor: ohms,
});
const mean = (wave: Wave, factor = 1): Recipe => ({ kind: "mean", wave, factor });
const rmsOf = (wave: Wave): Recipe => ({ kind: "rms", wave, factor: 1 });
const sizeOf = (wave: Wave): Recipe => ({ kind: "size", wave, factor: 1 });
const highOf = (wave: Wave): Recipe => ({ kind: "high", wave, factor: 1 });
const swingOf = (wave: Wave): Recipe => ({ kind: "swing", wave, factor: 1 });
const fixed = (value: number): Recipe => ({ kind: "fixed", value });
const none = fixed(0);

/** Average volts of a node. */
export const nodeMean = (wave: Wave): Recipe => mean(wave);

/** @param omega of the mains, radians a second */
export function observationOf(plan: IslandPlan, network: IslandNetwork, omega: number): Observation {
  const { multiport, placed, local } = network;
  const book = new WaveBook(multiport);
  const nodes = new Map<number, Wave>();
  const nodeWave = (node: number): Wave | undefined => {
    if (node < 0) return undefined;
    let wave = nodes.get(node);
    if (!wave) {
      const at = local(node);
      wave = book.of((net) => net.volts(at, -1));
      nodes.set(node, wave);
    }
    return wave;
  };
  for (const node of plan.nodes) nodeWave(node);
  /** What nothing ties together has no direct volts between. */
  const apart = (a: number, b: number): boolean => {
    const [first, second] = [a, b].map((node) => (node < 0 ? 0 : network.groupOf(node)));
    return first !== second && (network.floating.has(first) || network.floating.has(second));
  };

  const recipes = new Map<string, Recipes>();
  const ports = new Map<string, number>();
  interface Segment {
    readonly element: WindingSegment;
    readonly volts: Wave;
    readonly amps: Wave;
  }
  const windings = new Map<string, Segment[]>();
  const cathodes = new Map<string, { readonly node: number; readonly currents: Wave[] }>();

  for (const place of placed) {
    const { element } = place;
    const { key } = element;
    const volts =
      element.a === element.b
        ? book.difference(undefined, undefined)
        : book.difference(nodeWave(element.a), nodeWave(element.b));
    switch (element.kind) {
      case "resistance": {
        const siemens = place.as === "branch" ? place.branch.siemens : 0;
        const amps = book.scaled(volts, siemens, { element, sign: -1 });
        recipes.set(key, {
          volts: mean(volts),
          amps: mean(amps),
          rms: rmsOf(amps),
          peak: sizeOf(amps),
          watts: { kind: "rms product", wave: volts, other: amps, factor: 1 },
          rmsVolts: rmsOf(volts),
          peakVolts: sizeOf(volts),
        });
        break;
      }
      case "source": {
        if (place.as !== "branch") break;
        const { branch } = place;
        const amps = book.of((net) => net.current(branch));
        recipes.set(key, {
          volts: mean(volts),
          amps: mean(amps, -1),
          rms: rmsOf(amps),
          watts: { kind: "product", wave: volts, other: amps, factor: -1 },
        });
        break;
      }
      case "capacitor": {
        const own: Recipes = { ripple: swingOf(volts), amps: none };
        if (!apart(element.a, element.b)) {
          own.volts = mean(volts);
          own.rmsVolts = rmsOf(volts);
          own.peakVolts = sizeOf(volts);
        }
        if (place.as === "capacitor") {
          const { index } = place;
          const amps = book.of((net) => net.capacitorCurrent(index), { element, sign: 1 });
          own.rms = rmsOf(amps);
          own.peak = sizeOf(amps);
        } else {
          // A snubber: its current from the alternating volts at the mains' frequency.
          own.rms = { kind: "alternating rms", wave: volts, factor: omega * element.farads };
        }
        recipes.set(key, own);
        break;
      }
      case "choke": {
        if (place.as !== "choke") break;
        const { index } = place;
        const amps = book.of((net) => net.chokeCurrent(index));
        recipes.set(key, {
          volts: mean(volts),
          amps: mean(amps),
          rms: rmsOf(amps),
          peak: sizeOf(amps),
          ripple: swingOf(amps),
          watts: loss(amps, element.ohms),
          peakVolts: sizeOf(volts),
        });
        break;
      }
      case "rectifier": {
        const amps = place.as === "port" ? book.port(place.index) : undefined;
        if (place.as === "port") ports.set(key, place.index);
        recipes.set(key, {
          volts: mean(volts),
          amps: amps ? mean(amps) : none,
          rms: amps ? rmsOf(amps) : none,
          peak: amps ? highOf(amps) : none,
          inverse: { kind: "inverse", wave: volts },
          watts: amps ? { kind: "product", wave: volts, other: amps, factor: 1 } : none,
        });
        if (element.valve) {
          const cathode = `${key.slice(0, key.lastIndexOf("."))}.cathode`;
          let own = cathodes.get(cathode);
          if (!own) {
            own = { node: element.b, currents: [] };
            cathodes.set(cathode, own);
          }
          if (amps) own.currents.push(amps);
        }
        break;
      }
      case "winding": {
        if (place.as !== "branch") break;
        const { branch } = place;
        const amps = book.of((net) => net.current(branch), { element, sign: -1 });
        let own = windings.get(element.windingKey);
        if (!own) {
          own = [];
          windings.set(element.windingKey, own);
        }
        own.push({ element, volts, amps });
        recipes.set(key, {
          volts: mean(volts),
          amps: mean(amps),
          rms: rmsOf(amps),
          peak: sizeOf(amps),
          rmsVolts: rmsOf(volts),
          peakVolts: sizeOf(volts),
          voltAmperes: { kind: "rms product", wave: volts, other: amps, factor: 1 },
          watts: loss(amps, element.ohms),
        });
        break;
      }
      case "open":
        recipes.set(key, {
          volts: mean(volts),
          amps: none,
          rms: none,
          rmsVolts: rmsOf(volts),
          peakVolts: sizeOf(volts),
          watts: none,
        });
        break;
    }
  }

  for (const [key, { node, currents }] of cathodes) {
    const volts = nodeWave(node);
    const own: Recipes = { volts: volts ? mean(volts) : none };
    if (currents.length > 0) {
      const amps = book.sum(currents);
      own.amps = mean(amps);
      own.rms = rmsOf(amps);
      own.peak = highOf(amps);
    } else own.amps = own.rms = own.peak = none;
    recipes.set(key, own);
  }

  // Windings whole, and their transformers.
  const copper = new Map<string, Recipe[]>();
  for (const [key, segments] of windings) {
    const { element } = segments[0];
    const volts = book.sum(segments.map((segment) => segment.volts));
    const losses: Recipe = { kind: "sum", of: segments.map(({ amps, element: e }) => loss(amps, e.ohms)) };
    const { reference } = element;
    const all = copper.get(reference);
    if (all) all.push(losses);
    else copper.set(reference, [losses]);
    const busiest = segments.map(({ amps }) => amps);
    recipes.set(key, {
      volts: mean(volts),
      amps: mean(segments[0].amps),
      rms: { kind: "busiest", of: "rms", waves: busiest },
      peak: { kind: "busiest", of: "size", waves: busiest },
      rmsVolts: rmsOf(volts),
      peakVolts: sizeOf(volts),
      voltAmperes: {
        kind: "sum",
        of: segments.map(({ volts: v, amps }) => ({ kind: "rms product", wave: v, other: amps, factor: 1 })),
      },
      // A primary's: what goes in at its terminals.
      watts: element.primary
        ? {
            kind: "sum",
            of: segments.map(({ volts: v, amps }) => ({ kind: "product", wave: v, other: amps, factor: 1 })),
          }
        : losses,
    });
  }
  for (const [reference, of] of copper) {
    // Two windings on the mains each carry their part, in series and side by side alike.
    const primaries = [...windings].flatMap(([key, segments]) => {
      const [{ element }] = segments;
      const taken = element.reference === reference && element.primary && recipes.get(key)?.voltAmperes;
      return taken ? [taken] : [];
    });
    const own: Recipes = { watts: { kind: "sum", of } };
    if (primaries.length === 1) [own.voltAmperes] = primaries;
    else if (primaries.length > 1) own.voltAmperes = { kind: "sum", of: primaries };
    recipes.set(reference, own);
  }
  return { book, nodes, recipes, ports };
}
