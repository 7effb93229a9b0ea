/** What happens inside an island in its steady state: volts, amperes, peaks, rms and losses of every part, from the last cycle. */
import type { ReadingName } from "../results.ts";
import { switchedOn } from "./hot-switch.ts";
import type { Body } from "./index.ts";
import { InnerReadings } from "./inner-readings.ts";
import { type Around, behindChoke, inrush } from "./inrush.ts";
import type { IslandResult, Readings } from "./island.ts";
import type { Multiport } from "./multiport.ts";
import { nodeMean, type Observation, observationOf } from "./observation.ts";
import type { CycleRecord } from "./record.ts";
import { reservoirsAlone } from "./reservoirs.ts";
import { type Looks, looksAt, spectrumOf } from "./spectrum.ts";
import { type Recipe, type Term, type Wave, Waves } from "./waves.ts";

/** A record looked at. Everything but the averages is worked out when it is first asked for. */
export class Observed implements IslandResult {
  readonly nodeVolts = new Map<number, number>();
  readonly floating: number[] = [];
  readonly trouble: IslandResult["trouble"];
  gradient: IslandResult["gradient"];
  nodeGradient: IslandResult["nodeGradient"];

  private readonly observation: Observation;
  private readonly waves: Waves;
  private readonly spectra = new Map<number, Float64Array>();
  private looks: Looks | undefined;
  private nodes:
    | {
        readonly ripple: Map<number, number>;
        readonly peak: Map<number, number>;
        readonly trough: Map<number, number>;
        readonly rms: Map<number, number>;
      }
    | undefined;
  private told: ReadonlyMap<string, Readings> | undefined;

  /** @param settled false where no periodic steady state was found */
  constructor(
    private readonly body: Body,
    private readonly mainsVolts: number,
    drives: Float64Array,
    private readonly record: CycleRecord,
    settled: boolean,
  ) {
    const { plan, network, cycle } = body;
    body.observation ??= observationOf(plan, network, cycle.omega);
    this.observation = body.observation;
    this.waves = new Waves(this.observation.book, record, drives);
    let { finite } = this.waves;
    for (const node of plan.inner) {
      const loose = network.floating.has(network.groupOf(node));
      const volts = this.waves.mean(this.nodeWave(node));
      if (!Number.isFinite(volts)) finite = false;
      this.nodeVolts.set(node, loose ? Number.NaN : volts);
      if (loose) this.floating.push(node);
    }
    this.trouble = troubleOf(body, settled, finite);
  }

  get estimates(): readonly string[] {
    return this.body.estimates;
  }
  get notes(): IslandResult["notes"] {
    return this.body.plan.notes;
  }

  private nodeWave(node: number): Wave {
    return this.observation.nodes.get(node)!;
  }

  get ripple(): ReadonlyMap<number, number> {
    return this.ofNodes().ripple;
  }
  get peak(): ReadonlyMap<number, number> {
    return this.ofNodes().peak;
  }
  get trough(): ReadonlyMap<number, number> {
    return this.ofNodes().trough;
  }
  get rms(): ReadonlyMap<number, number> {
    return this.ofNodes().rms;
  }

  private ofNodes(): NonNullable<Observed["nodes"]> {
    if (this.nodes) return this.nodes;
    const { waves } = this;
    const found = {
      ripple: new Map<number, number>(),
      peak: new Map<number, number>(),
      trough: new Map<number, number>(),
      rms: new Map<number, number>(),
    };
    for (const node of this.body.plan.nodes) {
      const wave = this.nodeWave(node);
      const top = waves.crest(wave, 1);
      const bottom = -waves.crest(wave, -1);
      found.ripple.set(node, top - bottom);
      found.peak.set(node, top);
      found.trough.set(node, bottom);
      found.rms.set(node, waves.alternating(wave));
    }
    this.nodes = found;
    return found;
  }

  get readings(): ReadonlyMap<string, Readings> {
    if (this.told) return this.told;
    const { observation, waves } = this;
    const told = new Map<string, Readings>();
    for (const [key, own] of observation.recipes) told.set(key, new InnerReadings(waves, own));
    if (observation.ports.size > 0) {
      // Switched on hot at either crest.
      const { ports } = this.body.network;
      const multiport = reservoirsAlone(this.body.network);
      const first = switchedOn(multiport, ports, this.mainsVolts * Math.SQRT2);
      const second = switchedOn(multiport, ports, -this.mainsVolts * Math.SQRT2);
      for (const [key, port] of observation.ports) {
        const surge = Math.max(0, first[port], second[port]);
        told.set(key, new InnerReadings(waves, observation.recipes.get(key)!, { surge }));
      }
    }
    this.told = told;
    return told;
  }

  /**
   * Peak of each rectifying element switched on hot into empty reservoirs, by key: at the first instant, or later where a choke stands
   * before them.
   */
  hotSwitch(around: Around): ReadonlyMap<string, number> {
    const { readings, observation, body, mainsVolts } = this;
    const peaks = new Map<string, number>();
    let later: Float64Array | undefined;
    let net: Multiport | undefined;
    const henries = body.network.network.chokes.map((choke) => choke.henries);
    for (const [key, port] of observation.ports) {
      const own = readings.get(key);
      let most = own?.surge ?? 0;
      // An empty reservoir takes more at the first instant than it ever does again; less than in every cycle is not the peak.
      if (most < (own?.peak ?? 0)) net ??= reservoirsAlone(body.network);
      if (net && most < (own?.peak ?? 0) && behindChoke(net, henries, port)) {
        later ??= inrush(body.plan, body.heating, body.elements, around, {
          crest: mainsVolts * Math.SQRT2,
          hertz: body.cycle.hertz,
        });
        most = Math.max(most, later[port]);
      }
      peaks.set(key, most);
    }
    return peaks;
  }

  /** Harmonics of the mains at a node, for the filters that follow: from one on, volts. */
  harmonics(node: number, order: number): { readonly cosine: number; readonly sine: number } {
    let spectrum = this.spectra.get(node);
    if (!spectrum) {
      this.looks ??= looksAt(this.record, this.body.cycle.omega);
      spectrum = spectrumOf(this.waves.values(this.nodeWave(node)), this.record, this.looks);
      this.spectra.set(node, spectrum);
    }
    return { cosine: spectrum[2 * order] ?? 0, sine: spectrum[2 * order + 1] ?? 0 };
  }

  /** How a reading comes from the cycle. */
  recipe(key: string, reading: ReadingName): Recipe | undefined {
    return this.observation.recipes.get(key)?.[reading];
  }

  /** The same of a node's average. */
  nodeRecipe(node: number): Recipe {
    return nodeMean(this.nodeWave(node));
  }

  /** First variation of a figure. */
  terms(recipe: Recipe): Term[] {
    return this.waves.terms(recipe);
  }

  /** Fundamental of the ripple where the largest direct volts stand: once the mains' frequency after a half wave, twice otherwise. */
  get rippleHertz(): number | undefined {
    const { plan, cycle } = this.body;
    let largest = 0;
    let at: number | undefined;
    for (const { node } of plan.boundary) {
      const volts = Math.abs(this.waves.mean(this.nodeWave(node)));
      if (volts > largest) {
        largest = volts;
        at = node;
      }
    }
    if (at === undefined) return undefined;
    const size = (order: number) => {
      const { cosine, sine } = this.harmonics(at!, order);
      return Math.hypot(cosine, sine);
    };
    const first = size(1);
    const second = size(2);
    if (!(Math.max(first, second) > 0)) return undefined;
    return first > second ? cycle.hertz : 2 * cycle.hertz;
  }
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
