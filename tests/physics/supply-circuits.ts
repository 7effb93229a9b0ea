/** Power supplies made by hand, and one state of them solved. */
import type { Circuit, MainsLevel, Transformer, Winding } from "../../server/circuit/model.ts";
import { type Laws, publishedLaws } from "../../server/physics/dc/elements.ts";
import { type PlantSolution, Plants } from "../../server/physics/dc/plant.ts";
import type { StateName } from "../../server/physics/results.ts";
import { DcSolution } from "../../server/physics/solution.ts";
import { conditionsOf } from "../../server/physics/states.ts";
import { findSuppliesWith, type SupplyOptions } from "../../server/physics/supply/index.ts";
import type { IslandResult, Readings } from "../../server/physics/supply/island.ts";
import { laterPhasors } from "../../server/physics/supply/ripple.ts";
import { Bench, given } from "./circuits.ts";

const place = { file: "test", range: { start: 0, end: 0 } };

export interface WindingSpec {
  /** Volts of each segment. */
  readonly volts: readonly number[];
  readonly nets: readonly string[];
  readonly ohms: number;
  readonly amps?: number;
  readonly noLoad?: boolean;
  readonly direct?: boolean;
  readonly estimated?: boolean;
}

export class SupplyBench extends Bench {
  hertz = 50;
  laws: Laws = publishedLaws;
  mainsVolts = 230;

  transformer(
    reference: string,
    primary: WindingSpec | undefined,
    secondaries: Record<string, WindingSpec>,
  ): this {
    const winding = (name: string, spec: WindingSpec): Winding => ({
      name,
      place,
      nets: spec.nets.map((net) => this.net(net)),
      netPlaces: spec.nets.map(() => place),
      segmentVolts: spec.volts,
      volts: given(spec.volts.reduce((sum, v) => sum + v, 0)),
      noLoad: spec.noLoad ?? spec.amps === undefined,
      amps: spec.amps === undefined ? undefined : given(spec.amps),
      direct: spec.direct ?? false,
      ohms: spec.estimated
        ? { value: spec.ohms, origin: "estimate", source: "common practice" }
        : given(spec.ohms),
    });
    this.parts.push({
      kind: "transformer",
      reference,
      place,
      referencePlace: place,
      terminals: new Map(),
      factPlaces: new Map(),
      terminalPlaces: new Map(),
      primary: primary && winding("primary", primary),
      secondaries: Object.entries(secondaries).map(([name, spec]) => winding(name, spec)),
    } satisfies Transformer);
    return this;
  }

  /** An ideal transformer: nothing between the mains and the open-circuit volts but the secondary's resistance. */
  secondary(nets: readonly string[], volts: readonly number[], ohms: number): this {
    return this.transformer(
      "T1",
      { volts: [this.mainsVolts], nets: ["live", "neutral"], ohms: 0 },
      {
        ht: { volts, nets, ohms, noLoad: true },
      },
    );
  }

  bridge(reference: string, ac1: string, ac2: string, plus: string, minus: string): this {
    const at = (name: string) => this.net(name);
    this.parts.push({
      kind: "bridge",
      reference,
      place,
      referencePlace: place,
      terminals: new Map([
        ["ac1", at(ac1)],
        ["ac2", at(ac2)],
        ["plus", at(plus)],
        ["minus", at(minus)],
      ]),
      factPlaces: new Map(),
      terminalPlaces: new Map(),
    });
    return this;
  }

  override circuit(): Circuit {
    this.mains = {
      given: true,
      hertz: this.hertz,
      volts: { low: this.mainsVolts * 0.9, nominal: this.mainsVolts, high: this.mainsVolts * 1.1 },
      toleranceSource: "test",
    };
    return super.circuit();
  }

  solve(state: StateName = "idle", level: MainsLevel = "nominal", options: SupplyOptions = {}): Solved {
    const circuit = this.circuit();
    const plants = new Plants(
      circuit,
      (c, topology, conditions) => findSuppliesWith(c, topology, conditions, options),
      this.laws,
    );
    return new Solved(circuit, plants.solve(conditionsOf(circuit, state, level)));
  }
}

/** What tests ask of one solved state. */
export class Solved {
  private behind: DcSolution | undefined;
  constructor(
    readonly circuit: Circuit,
    readonly solution: PlantSolution,
  ) {}

  private node(name: string): number {
    const net = this.circuit.netByName.get(name);
    if (net === undefined) throw new Error(`no net ${name}`);
    return this.solution.plant.topology.node[net];
  }

  private fromIslands(pick: (result: IslandResult) => number | undefined): number {
    for (const { result } of this.solution.islandResults) {
      const value = pick(result);
      if (value !== undefined) return value;
    }
    return Number.NaN;
  }

  volts(name: string): number {
    const node = this.node(name);
    if (node < 0) return 0;
    const unknown = this.solution.plant.system.unknownOfNode[node];
    return unknown >= 0 ? this.solution.x[unknown] : this.fromIslands((r) => r.nodeVolts.get(node));
  }
  ripple(name: string): number {
    return this.fromIslands((r) => r.ripple.get(this.node(name)));
  }
  /** At a net behind the supplies. */
  laterRipple(name: string): number {
    this.behind ??= new DcSolution(this.solution, laterPhasors);
    return this.behind.ripple[this.circuit.netByName.get(name)!];
  }
  peak(name: string): number {
    return this.fromIslands((r) => r.peak.get(this.node(name)));
  }
  trough(name: string): number {
    return this.fromIslands((r) => r.trough.get(this.node(name)));
  }
  rms(name: string): number {
    return this.fromIslands((r) => r.rms.get(this.node(name)));
  }
  reading(key: string): Readings {
    for (const { result } of this.solution.islandResults) {
      const own = result.readings.get(key);
      if (own) return own;
    }
    // Behind the supplies.
    this.behind ??= new DcSolution(this.solution, laterPhasors);
    const own = this.behind.readings.get(key);
    if (own) return own;
    throw new Error(`no reading ${key}`);
  }
}
