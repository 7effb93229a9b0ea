/**
 * What happens inside an island in its steady state: volts, amperes, peaks, rms and losses of every part, from the last cycle.
 */
import type { ReadingName } from "../results.ts";
import type { Element, WindingSegment } from "./elements.ts";
import { switchedOn } from "./hot-switch.ts";
import type { Body } from "./index.ts";
import type { IslandResult, Readings } from "./island.ts";
import type { CycleRecord } from "./record.ts";
import { stages } from "./steps.ts";
import { type Recipe, type Term, type Wave, Waves } from "./waves.ts";

export interface Observed extends IslandResult {
  /** Harmonics of the mains at a node, for the filters that follow: from one on, volts. */
  harmonics(node: number, order: number): { readonly cosine: number; readonly sine: number };
  /** First variation of a reading, and of an inner node's average. */
  terms(key: string, reading: ReadingName): Term[] | undefined;
  nodeTerms(node: number): Term[];
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

type Recipes = Partial<Record<ReadingName, Recipe>>;

/** @param settled false where no periodic steady state was found */
export function observe(
  body: Body,
  mainsVolts: number,
  drives: Float64Array,
  record: CycleRecord,
  settled: boolean,
): Observed {
  const { plan, network, cycle } = body;
  const { multiport, placed, local } = network;
  const waves = new Waves(record, multiport, drives, plan.nodes.length + 3 * placed.length);

  const nodeWaves = new Map<number, Wave>();
  const nodeWave = (node: number): Wave => {
    let wave = nodeWaves.get(node);
    if (!wave) {
      const at = local(node);
      wave = waves.of((net) => net.volts(at, -1));
      nodeWaves.set(node, wave);
    }
    return wave;
  };
  const across = (element: Element): Wave =>
    element.a === element.b
      ? waves.difference(undefined, undefined)
      : waves.difference(
          element.a < 0 ? undefined : nodeWave(element.a),
          element.b < 0 ? undefined : nodeWave(element.b),
        );

  const nodeVolts = new Map<number, number>();
  const ripple = new Map<number, number>();
  const high = new Map<number, number>();
  const low = new Map<number, number>();
  const rms = new Map<number, number>();
  const floating: number[] = [];
  const inner = new Set(plan.inner);
  for (const node of plan.nodes) {
    const wave = nodeWave(node);
    const loose = network.floating.has(network.groupOf(node));
    const top = waves.crest(wave, 1);
    const bottom = -waves.crest(wave, -1);
    ripple.set(node, top - bottom);
    rms.set(node, Math.sqrt(Math.max(wave.rms ** 2 - wave.mean ** 2, 0)));
    high.set(node, top);
    low.set(node, bottom);
    if (!inner.has(node)) continue;
    nodeVolts.set(node, loose ? Number.NaN : wave.mean);
    if (loose) floating.push(node);
  }

  // Switched on hot at either crest.
  const first = switchedOn(multiport, network.ports, mainsVolts * Math.SQRT2);
  const second = switchedOn(multiport, network.ports, -mainsVolts * Math.SQRT2);

  const recipes = new Map<string, Recipes>();
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
    const volts = across(element);
    switch (element.kind) {
      case "resistance": {
        const siemens = place.as === "branch" ? place.branch.siemens : 0;
        const amps = waves.scaled(volts, siemens, { element, sign: -1 });
        recipes.set(key, {
          volts: mean(volts),
          amps: mean(amps),
          rms: rmsOf(amps),
          peak: sizeOf(amps),
          watts: { kind: "product", wave: volts, other: amps, factor: 1 },
          rmsVolts: rmsOf(volts),
          peakVolts: sizeOf(volts),
        });
        break;
      }
      case "source": {
        if (place.as !== "branch") break;
        const { branch } = place;
        const amps = waves.of((net) => net.current(branch));
        recipes.set(key, {
          volts: mean(volts),
          amps: mean(amps, -1),
          rms: rmsOf(amps),
          watts: { kind: "product", wave: volts, other: amps, factor: -1 },
        });
        break;
      }
      case "capacitor": {
        const own: Recipes = {
          volts: mean(volts),
          ripple: swingOf(volts),
          rmsVolts: rmsOf(volts),
          peakVolts: sizeOf(volts),
          amps: fixed(0),
        };
        if (place.as === "capacitor") {
          const { index } = place;
          const amps = waves.of((net) => net.capacitorCurrent(index), { element, sign: 1 });
          own.rms = rmsOf(amps);
          own.peak = sizeOf(amps);
        } else {
          // A snubber: its current from the alternating volts at the mains' frequency.
          const alternating = Math.sqrt(Math.max(volts.rms ** 2 - volts.mean ** 2, 0));
          own.rms = fixed(alternating * cycle.omega * element.farads);
        }
        recipes.set(key, own);
        break;
      }
      case "choke": {
        if (place.as !== "choke") break;
        const { index } = place;
        const amps = waves.of((net) => net.chokeCurrent(index));
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
        const amps = place.as === "port" ? waves.port(place.index) : undefined;
        const none = fixed(0);
        const surge = place.as === "port" ? Math.max(0, first[place.index], second[place.index]) : undefined;
        const own: Recipes = {
          volts: mean(volts),
          amps: amps ? mean(amps) : none,
          rms: amps ? rmsOf(amps) : none,
          peak: amps ? highOf(amps) : none,
          inverse: volts.low < 0 ? { kind: "low", wave: volts, factor: -1 } : none,
          watts: amps ? { kind: "product", wave: volts, other: amps, factor: 1 } : none,
        };
        if (surge !== undefined) own.surge = fixed(surge);
        recipes.set(key, own);
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
        const amps = waves.of((net) => net.current(branch), { element, sign: -1 });
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
          amps: fixed(0),
          rms: fixed(0),
          rmsVolts: rmsOf(volts),
          peakVolts: sizeOf(volts),
          watts: fixed(0),
        });
        break;
    }
  }

  for (const [key, { node, currents }] of cathodes) {
    const own: Recipes = { volts: node < 0 ? fixed(0) : mean(nodeWave(node)) };
    if (currents.length > 0) {
      const amps = waves.sum(currents);
      own.amps = mean(amps);
      own.rms = rmsOf(amps);
      own.peak = highOf(amps);
    } else own.amps = own.rms = own.peak = fixed(0);
    recipes.set(key, own);
  }

  // Windings whole, and their transformers.
  const copper = new Map<string, Recipe[]>();
  for (const [key, segments] of windings) {
    const { element } = segments[0];
    const volts = waves.sum(segments.map((segment) => segment.volts));
    const busiest = segments.reduce((best, segment) => (segment.amps.rms > best.amps.rms ? segment : best));
    const losses: Recipe = { kind: "sum", of: segments.map(({ amps, element: e }) => loss(amps, e.ohms)) };
    const { reference } = element;
    const all = copper.get(reference);
    if (all) all.push(losses);
    else copper.set(reference, [losses]);
    recipes.set(key, {
      volts: mean(volts),
      amps: mean(segments[0].amps),
      rms: rmsOf(busiest.amps),
      peak: sizeOf(busiest.amps),
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
    const primary = [...windings].find(
      ([, segments]) => segments[0].element.reference === reference && segments[0].element.primary,
    );
    const voltAmperes = primary && recipes.get(primary[0])?.voltAmperes;
    const own: Recipes = { watts: { kind: "sum", of } };
    if (voltAmperes) own.voltAmperes = voltAmperes;
    recipes.set(reference, own);
  }

  const readings = new Map<string, Readings>();
  let finite = true;
  for (const [key, own] of recipes) {
    const told: Readings = {};
    for (const name of Object.keys(own) as ReadingName[]) {
      const value = waves.value(own[name]!);
      if (!Number.isFinite(value)) finite = false;
      told[name] = value;
    }
    readings.set(key, told);
  }

  const spectra = new Map<number, Float64Array>();
  function harmonics(node: number, order: number): { cosine: number; sine: number } {
    let spectrum = spectra.get(node);
    if (!spectrum) {
      spectrum = spectrumOf(nodeWave(node).values, record, cycle.omega);
      spectra.set(node, spectrum);
    }
    return { cosine: spectrum[2 * order] ?? 0, sine: spectrum[2 * order + 1] ?? 0 };
  }

  return {
    nodeVolts,
    ripple,
    peak: high,
    trough: low,
    rms,
    rippleHertz: rippleHertz(body, nodeWave, harmonics),
    readings,
    estimates: body.estimates,
    floating,
    trouble: troubleOf(body, settled, finite),
    notes: plan.notes,
    harmonics,
    terms(key, reading) {
      const recipe = recipes.get(key)?.[reading];
      return recipe && waves.terms(recipe);
    },
    nodeTerms: (node) => waves.terms(mean(nodeWave(node))),
  };
}

/** Harmonics that are told. */
const orders = 8;
/** Gauss-Legendre, four points on 0..1. */
const gaussAt = [0.0694318442029737, 0.3300094782075719, 0.6699905217924281, 0.9305681557970263] as const;
const gaussWeight = [0.1739274225687269, 0.3260725774312731, 0.3260725774312731, 0.1739274225687269] as const;

/**
 * Cosine and sine of each harmonic of the mains, interleaved from order nought. The waveform is drawn through each step as the
 * parabola on its start and its stages, since a step may be long against the period of a high harmonic.
 */
function spectrumOf(values: Float64Array, record: CycleRecord, omega: number): Float64Array {
  const out = new Float64Array(2 * (orders + 1));
  const { time, count } = record;
  if (count === 0) return out;
  const period = (2 * Math.PI) / omega;
  let start = 0;
  let s0 = values[count - 1];
  for (let n = 0; n + 1 < count; n += stages) {
    const end = time[n + 1];
    const step = end - start;
    const s1 = values[n];
    const s2 = values[n + 1];
    const bend = (s2 - s0 - 3 * (s1 - s0)) / (1 - 1 / 3);
    const slope = s2 - s0 - bend;
    for (let g = 0; g < gaussAt.length; g++) {
      const part = gaussAt[g];
      const v = (s0 + slope * part + bend * part * part) * gaussWeight[g] * (step / period) * 2;
      const angle = omega * (start + part * step);
      const c1 = Math.cos(angle);
      const s = Math.sin(angle);
      // cos and sin of multiples by the angle-sum rule.
      let c = 1;
      let q = 0;
      for (let order = 0; order <= orders; order++) {
        out[2 * order] += v * c;
        out[2 * order + 1] += v * q;
        const next = c * c1 - q * s;
        q = q * c1 + c * s;
        c = next;
      }
    }
    start = end;
    s0 = s2;
  }
  return out;
}

/** Fundamental of the ripple where the largest direct volts stand: once the mains' frequency after a half wave, twice otherwise. */
function rippleHertz(
  body: Body,
  nodeWave: (node: number) => Wave,
  harmonics: Observed["harmonics"],
): number | undefined {
  let largest = 0;
  let at: number | undefined;
  for (const { node } of body.plan.boundary) {
    const volts = Math.abs(nodeWave(node).mean);
    if (volts > largest) {
      largest = volts;
      at = node;
    }
  }
  if (at === undefined) return undefined;
  const size = (order: number) => {
    const { cosine, sine } = harmonics(at!, order);
    return Math.hypot(cosine, sine);
  };
  const first = size(1);
  const second = size(2);
  if (!(Math.max(first, second) > 0)) return undefined;
  return first > second ? body.cycle.hertz : 2 * body.cycle.hertz;
}

function troubleOf(body: Body, settled: boolean, finite: boolean): IslandResult["trouble"] {
  const { plan } = body;
  if (!settled) {
    const nodes = plan.boundary.map(({ node }) => node);
    return {
      message: `the supply of ${[...plan.parts].slice(0, 3).join(", ")} finds no steady state`,
      nodes: nodes.length > 0 ? nodes : plan.nodes,
    };
  }
  return finite
    ? undefined
    : { message: "the supply's equations have no finite solution", nodes: plan.nodes };
}
