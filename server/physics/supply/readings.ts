/**
 * What happens inside an island in its steady state: volts, amperes, peaks, rms and losses of every part, from the last cycle.
 */
import type { CycleRecord } from "./cycle.ts";
import type { Element, WindingSegment } from "./elements.ts";
import type { Body } from "./index.ts";
import type { IslandResult, Readings } from "./island.ts";
import type { Row } from "./multiport.ts";

export interface Observed extends IslandResult {
  readonly readings: Map<string, Readings>;
  /** Harmonics of the mains at each boundary node, for the filters that follow: from one on, volts. */
  harmonics(node: number, order: number): { readonly cosine: number; readonly sine: number };
  /** Every quantity in a fixed order, for differences between two observations of the same body. */
  readonly flat: () => Float64Array;
}

/** Averages of a waveform. */
interface Wave {
  readonly values: Float64Array;
  readonly mean: number;
  readonly rms: number;
  readonly high: number;
  readonly low: number;
}

/** @param settled false where no periodic steady state was found */
export function observe(body: Body, drives: Float64Array, record: CycleRecord, settled: boolean): Observed {
  const { plan, network } = body;
  const { multiport, placed, local } = network;
  const { count, weight } = record;
  const { nx, nu, np } = multiport;

  const waveOf = (row: Row): Wave => {
    const values = new Float64Array(count);
    let fixed = row.u[1];
    for (let d = 0; d < nu - 2; d++) fixed += row.u[2 + d] * drives[d];
    const byMains = row.u[0];
    for (let n = 0; n < count; n++) {
      let s = fixed + byMains * record.mains[n];
      for (let k = 0; k < nx; k++) s += row.x[k] * record.x[n * nx + k];
      for (let k = 0; k < np; k++) s += row.i[k] * record.i[n * np + k];
      values[n] = s;
    }
    return measure(values);
  };
  const measure = (values: Float64Array): Wave => {
    let mean = 0;
    let square = 0;
    let high = Number.NEGATIVE_INFINITY;
    let low = Number.POSITIVE_INFINITY;
    for (let n = 0; n < count; n++) {
      const v = values[n];
      mean += weight[n] * v;
      square += weight[n] * v * v;
      if (v > high) high = v;
      if (v < low) low = v;
    }
    if (count === 0) {
      high = 0;
      low = 0;
    }
    return { values, mean, rms: Math.sqrt(Math.max(square, 0)), high, low };
  };
  const product = (a: Wave, b: Wave): number => {
    let s = 0;
    for (let n = 0; n < count; n++) s += weight[n] * a.values[n] * b.values[n];
    return s;
  };
  const portWave = (port: number): Wave => {
    const values = new Float64Array(count);
    for (let n = 0; n < count; n++) values[n] = record.i[n * np + port];
    return measure(values);
  };
  const size = (w: Wave) => Math.max(Math.abs(w.high), Math.abs(w.low));
  /**
   * The highest point of `sign` times a waveform, between the points where it was computed: by the parabola through the highest
   * three, unless one side falls off as steeply as a corner does.
   */
  const crest = (values: Float64Array, sign: number): number => {
    let at = 0;
    let least = Number.POSITIVE_INFINITY;
    for (let n = 0; n < count; n++) {
      const v = sign * values[n];
      if (v > sign * values[at]) at = n;
      if (v < least) least = v;
    }
    const top = sign * (values[at] ?? 0);
    if (at === 0 || at + 1 >= count) return top;
    const before = top - sign * values[at - 1];
    const after = top - sign * values[at + 1];
    if (Math.max(before, after) > 0.1 * (top - least)) return top;
    const s0 = record.time[at - 1] - record.time[at];
    const s1 = record.time[at + 1] - record.time[at];
    const d0 = -before / s0;
    const d1 = -after / s1;
    const curve = (d1 - d0) / (s1 - s0);
    const slope = d0 - curve * s0;
    return curve < 0 ? top - (slope * slope) / (4 * curve) : top;
  };
  const largest = (values: Float64Array) => Math.max(crest(values, 1), crest(values, -1));

  const nodeWaves = new Map<number, Wave>();
  const nodeWave = (node: number): Wave => {
    let wave = nodeWaves.get(node);
    if (!wave) {
      wave = waveOf(multiport.volts(local(node), -1));
      nodeWaves.set(node, wave);
    }
    return wave;
  };
  const across = (element: Element): Wave => {
    const values = new Float64Array(count);
    if (element.a >= 0 && element.a !== element.b) {
      const w = nodeWave(element.a).values;
      for (let n = 0; n < count; n++) values[n] += w[n];
    }
    if (element.b >= 0 && element.a !== element.b) {
      const w = nodeWave(element.b).values;
      for (let n = 0; n < count; n++) values[n] -= w[n];
    }
    return measure(values);
  };

  const readings = new Map<string, Readings>();
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
    const top = crest(wave.values, 1);
    const bottom = -crest(wave.values, -1);
    ripple.set(node, top - bottom);
    rms.set(node, Math.sqrt(Math.max(wave.rms ** 2 - wave.mean ** 2, 0)));
    high.set(node, top);
    low.set(node, bottom);
    if (!inner.has(node)) continue;
    nodeVolts.set(node, loose ? Number.NaN : wave.mean);
    if (loose) floating.push(node);
  }

  const windings = new Map<string, { segments: { element: WindingSegment; volts: Wave; amps: Wave }[] }>();
  const cathodes = new Map<string, { node: number; currents: Wave[] }>();
  const placeCathode = (element: Element, amps: Wave | undefined): void => {
    const key = `${element.key.slice(0, element.key.lastIndexOf("."))}.cathode`;
    let own = cathodes.get(key);
    if (!own) {
      own = { node: element.b, currents: [] };
      cathodes.set(key, own);
    }
    if (amps) own.currents.push(amps);
  };

  for (const place of placed) {
    const { element } = place;
    const volts = across(element);
    switch (element.kind) {
      case "resistance": {
        const amps = scaled(volts, place.as === "branch" ? place.branch.siemens : 0);
        readings.set(element.key, {
          volts: volts.mean,
          amps: amps.mean,
          rms: amps.rms,
          peak: size(amps),
          watts: volts.rms * amps.rms,
          rmsVolts: volts.rms,
          peakVolts: size(volts),
        });
        break;
      }
      case "source": {
        if (place.as !== "branch") break;
        const amps = waveOf(multiport.current(place.branch));
        readings.set(element.key, {
          volts: volts.mean,
          amps: -amps.mean,
          rms: amps.rms,
          watts: -product(volts, amps),
        });
        break;
      }
      case "capacitor": {
        const own: Readings = {
          volts: volts.mean,
          ripple: crest(volts.values, 1) + crest(volts.values, -1),
          rmsVolts: volts.rms,
          peakVolts: size(volts),
          amps: 0,
        };
        if (place.as === "capacitor") {
          const amps = waveOf(multiport.capacitorCurrent(place.index));
          own.rms = amps.rms;
          own.peak = size(amps);
        } else {
          // A snubber: its current from the alternating volts at the mains' frequency.
          const alternating = Math.sqrt(Math.max(volts.rms ** 2 - volts.mean ** 2, 0));
          own.rms = alternating * 2 * Math.PI * body.cycle.hertz * element.farads;
        }
        readings.set(element.key, own);
        break;
      }
      case "choke": {
        if (place.as !== "choke") break;
        const amps = waveOf(multiport.chokeCurrent(place.index));
        readings.set(element.key, {
          volts: volts.mean,
          amps: amps.mean,
          rms: amps.rms,
          peak: size(amps),
          ripple: amps.high - amps.low,
          watts: amps.rms ** 2 * element.ohms,
          peakVolts: size(volts),
        });
        break;
      }
      case "rectifier": {
        const amps = place.as === "port" ? portWave(place.index) : undefined;
        readings.set(element.key, {
          volts: volts.mean,
          amps: amps?.mean ?? 0,
          rms: amps?.rms ?? 0,
          peak: amps ? crest(amps.values, 1) : 0,
          inverse: Math.max(0, -volts.low),
          watts: amps ? product(volts, amps) : 0,
        });
        if (element.valve) placeCathode(element, amps);
        break;
      }
      case "winding": {
        if (place.as !== "branch") break;
        // Out of the start, as a source gives it: against the branch's own direction.
        const amps = waveOf(multiport.current(place.branch));
        let own = windings.get(element.windingKey);
        if (!own) {
          own = { segments: [] };
          windings.set(element.windingKey, own);
        }
        own.segments.push({ element, volts, amps });
        readings.set(element.key, {
          volts: volts.mean,
          amps: amps.mean,
          rms: amps.rms,
          peak: largest(amps.values),
          rmsVolts: volts.rms,
          peakVolts: size(volts),
          voltAmperes: volts.rms * amps.rms,
          watts: amps.rms ** 2 * element.ohms,
        });
        break;
      }
      case "open":
        readings.set(element.key, {
          volts: volts.mean,
          amps: 0,
          rms: 0,
          rmsVolts: volts.rms,
          peakVolts: size(volts),
          watts: 0,
        });
        break;
    }
  }

  for (const [key, { node, currents }] of cathodes) {
    const total = new Float64Array(count);
    for (const wave of currents) for (let n = 0; n < count; n++) total[n] += wave.values[n];
    const amps = measure(total);
    readings.set(key, {
      volts: node < 0 ? 0 : nodeWave(node).mean,
      amps: amps.mean,
      rms: amps.rms,
      peak: crest(amps.values, 1),
    });
  }

  // Windings whole, and their transformers.
  const copper = new Map<string, number>();
  for (const [key, { segments }] of windings) {
    const whole = new Float64Array(count);
    let most = 0;
    let highest = 0;
    let voltAmperes = 0;
    let loss = 0;
    for (const { element, volts, amps } of segments) {
      for (let n = 0; n < count; n++) whole[n] += volts.values[n];
      most = Math.max(most, amps.rms);
      highest = Math.max(highest, largest(amps.values));
      voltAmperes += volts.rms * amps.rms;
      loss += amps.rms ** 2 * element.ohms;
    }
    const volts = measure(whole);
    const reference = segments[0].element.reference;
    copper.set(reference, (copper.get(reference) ?? 0) + loss);
    readings.set(key, {
      volts: volts.mean,
      amps: segments[0].amps.mean,
      rms: most,
      peak: highest,
      rmsVolts: volts.rms,
      peakVolts: size(volts),
      voltAmperes,
      watts: loss,
    });
  }
  for (const [key, { segments }] of windings) {
    if (!segments[0].element.primary) continue;
    const reference = segments[0].element.reference;
    // What goes in at its terminals.
    let power = 0;
    for (const { volts, amps } of segments) power += product(volts, amps);
    const own = readings.get(key);
    readings.set(key, { ...own, watts: power });
    readings.set(reference, { voltAmperes: own?.voltAmperes ?? 0, watts: copper.get(reference) ?? 0 });
  }
  for (const [reference, watts] of copper) {
    if (!readings.has(reference)) readings.set(reference, { watts });
  }

  const estimates = [...body.estimates, ...estimatesOf(body)];
  const trouble = troubleOf(body, settled, readings);
  return {
    nodeVolts,
    ripple,
    peak: high,
    trough: low,
    rms,
    rippleHertz: rippleHertz(),
    readings,
    estimates,
    floating,
    trouble,
    notes: body.plan.notes,
    harmonics,
    flat,
  };

  function harmonics(node: number, order: number): { cosine: number; sine: number } {
    const wave = nodeWave(node).values;
    let cosine = 0;
    let sine = 0;
    for (let n = 0; n < count; n++) {
      const angle = order * body.cycle.omega * record.time[n];
      cosine += 2 * weight[n] * wave[n] * Math.cos(angle);
      sine += 2 * weight[n] * wave[n] * Math.sin(angle);
    }
    return { cosine, sine };
  }

  function rippleHertz(): number | undefined {
    let largest = 0;
    let at: number | undefined;
    for (const { node } of plan.boundary) {
      const mean = Math.abs(nodeWave(node).mean);
      if (mean > largest) {
        largest = mean;
        at = node;
      }
    }
    if (at === undefined) return undefined;
    const one = harmonics(at, 1);
    const two = harmonics(at, 2);
    const first = Math.hypot(one.cosine, one.sine);
    const second = Math.hypot(two.cosine, two.sine);
    if (!(Math.max(first, second) > 0)) return undefined;
    return first > second ? body.cycle.hertz : 2 * body.cycle.hertz;
  }

  function flat(): Float64Array {
    const out: number[] = [];
    for (const node of plan.nodes) out.push(nodeWave(node).mean);
    for (const own of readings.values()) for (const value of Object.values(own)) out.push(value ?? 0);
    return Float64Array.from(out);
  }

  function scaled(wave: Wave, by: number): Wave {
    const values = wave.values.map((v) => v * by);
    const ends = [wave.high * by, wave.low * by];
    return {
      values,
      mean: wave.mean * by,
      rms: wave.rms * Math.abs(by),
      high: Math.max(...ends),
      low: Math.min(...ends),
    };
  }
}

/** Which figures rest on an estimated winding: everything that its transformer gives. */
function estimatesOf(body: Body): string[] {
  const found = new Set<string>();
  for (const { element } of body.network.placed) {
    if (element.kind === "winding" && element.estimated) {
      found.add(
        `${element.windingKey}: its resistance is estimated (${element.winding.ohms.source ?? "common practice"}); every figure of this supply rests on it`,
      );
    } else if (element.kind === "choke" && element.estimated) {
      found.add(`${element.key}: its resistance is estimated`);
    }
  }
  return [...found];
}

function troubleOf(
  body: Body,
  settled: boolean,
  readings: ReadonlyMap<string, Readings>,
): IslandResult["trouble"] {
  const { plan } = body;
  if (!settled) {
    const names = plan.boundary.map(({ node }) => node);
    return {
      message: `the supply of ${[...plan.parts].slice(0, 3).join(", ")} finds no steady state`,
      nodes: names.length > 0 ? names : plan.nodes,
    };
  }
  for (const own of readings.values()) {
    for (const value of Object.values(own)) {
      if (value !== undefined && !Number.isFinite(value)) {
        return { message: "the supply's equations have no finite solution", nodes: plan.nodes };
      }
    }
  }
  return undefined;
}
