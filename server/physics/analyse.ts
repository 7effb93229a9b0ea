/** From a circuit to what happens in it. The one entrance to the physics. */
import { atOnce, type InSteps } from "../circuit/in-steps.ts";
import type { Capacitor, Circuit, MainsLevel, ValveSection } from "../circuit/model.ts";
import { type Laws, publishedLaws } from "./dc/elements.ts";
import { type PlantSolution, Plants } from "./dc/plant.ts";
import { isUnsolved } from "./dc/unsolved.ts";
import { Emptying } from "./discharge.ts";
import { type FoundStage, findStages } from "./drive/find.ts";
import { driveStages } from "./drive/index.ts";
import type {
  Analysis,
  Discharge,
  DriveResult,
  Solution,
  StateName,
  Unsolvable,
  Unsolved,
} from "./results.ts";
import { sharedByCharge } from "./sharing.ts";
import { DcSolution } from "./solution.ts";
import { conditionsOf, outputValves, statesOf } from "./states.ts";
import { findSupplies, findSuppliesWith } from "./supply/index.ts";
import type { FindSupplies, LaterRipple, SolvedNetwork } from "./supply/island.ts";
import { type LaterPhasors, laterPhasors } from "./supply/ripple.ts";
import type { Topology } from "./topology.ts";
import { turn } from "./turned.ts";
import { interruptsOthers, someUnheated, unlitBetween } from "./unlit.ts";

export interface AnalyseOptions {
  /** Other supplies, ripple, laws than the published ones: laws of a user's own types, and for tests. */
  readonly findSupplies?: FindSupplies;
  readonly laterRipple?: LaterRipple;
  readonly laws?: Laws;
}

/**
 * Nothing is solved before it is asked for, and each state at each mains level once.
 * @throws never: a circuit without a solution gives solutions with `solved` false and the trouble told
 */
export function analyse(circuit: Circuit, options: AnalyseOptions = {}): Analysis {
  return new Solved(circuit, options);
}

/** With and without the stages of which something is unsolved. */
interface Driven {
  readonly all: readonly DriveResult[];
  readonly told: readonly DriveResult[];
}

/*
 * Classes, with their getters and generators on the prototype: V8 gives every object literal with getters, and every generator made
 * within a function, a shape of its own. Each shape holds on to all that these reach until the next full collection, and code
 * optimised for the last one does not fit the next.
 */

class Solved implements Analysis {
  readonly states: readonly StateName[];
  readonly discharge: ReadonlyMap<MainsLevel, EmptiedAtLevel>;
  private readonly laws: Laws;
  private readonly supplies: FindSupplies;
  private readonly plants: Plants;
  private readonly solutions = new Map<string, DcSolution>();
  private readonly turned = new Map<string, Analysis>();
  private readonly warmYet = new Map<MainsLevel, DcSolution>();
  private readonly unlitKept = new Map<StateName, ReadonlySet<string>>();
  private readonly driven = new Map<MainsLevel, Driven>();
  private unsolvableKept: Unsolvable | false | undefined;
  private stages: { readonly topology: Topology; readonly found: readonly FoundStage[] } | undefined;

  constructor(
    readonly circuit: Circuit,
    private readonly options: AnalyseOptions,
  ) {
    const laws = options.laws ?? publishedLaws;
    this.laws = laws;
    this.supplies =
      options.findSupplies ??
      (options.laws
        ? (of, topology, conditions) => findSuppliesWith(of, topology, conditions, { laws })
        : findSupplies);
    this.plants = new Plants(circuit, this.supplies, laws);
    this.states = statesOf(circuit);
    this.discharge = new Discharges(
      circuit,
      this.states,
      // A rectifier that goes cold with the output valves has filled the reservoirs before it does.
      (state, level) =>
        state === "pulled" && this.unlit(state).size > 0
          ? this.solveStillWarm(level)
          : this.solve(state, level),
      laws,
    ).byLevel;
  }

  private *findPhasors(solved: SolvedNetwork): InSteps<LaterPhasors> {
    const phasors = yield* laterPhasors(solved);
    const { laterRipple } = this.options;
    return laterRipple ? { ...phasors, ripple: laterRipple(solved) } : phasors;
  }

  private *solveInSteps(state: StateName, level: MainsLevel): InSteps<DcSolution> {
    const key = `${state} ${level}`;
    let solution = this.solutions.get(key);
    if (!solution) {
      const without = yield* this.unlitInSteps(state);
      // What was solved with every valve warm, to see which are not, may be all that there is to it.
      const kept = this.solutions.get(key);
      if (kept) return kept;
      const plant = yield* this.plants.solveInSteps(conditionsOf(this.circuit, state, level, without));
      solution = this.solutionOf(plant);
      this.solutions.set(key, solution);
    }
    return solution;
  }

  private solve(state: StateName, level: MainsLevel): DcSolution {
    return this.solutions.get(`${state} ${level}`) ?? atOnce(this.solveInSteps(state, level));
  }

  private solveStillWarm(level: MainsLevel): DcSolution {
    let solution = this.warmYet.get(level);
    if (!solution) {
      solution = this.solutionOf(this.plants.solve(conditionsOf(this.circuit, "pulled", level)));
      this.warmYet.set(level, solution);
    }
    return solution;
  }

  /** At nominal mains: which heaters have lost their current does not depend on how high it stands. */
  private *unlitInSteps(state: StateName): InSteps<ReadonlySet<string>> {
    if ((state !== "pulled" && state !== "standby") || !this.states.includes(state)) return NONE;
    let unlit = this.unlitKept.get(state);
    if (!unlit) {
      unlit = yield* state === "pulled" ? this.unlitPulled() : this.unlitInStandby();
      this.unlitKept.set(state, unlit);
    }
    return unlit;
  }

  private *unlitPulled(): InSteps<ReadonlySet<string>> {
    const { circuit } = this;
    const topology = this.plants.topology(conditionsOf(circuit, "pulled", "nominal"));
    if (!interruptsOthers(circuit, topology)) return NONE;
    const idle = yield* this.solveInSteps("idle", "nominal");
    return yield* unlitBetween(circuit, idle, this.solveStillWarm("nominal"), outputValves(circuit));
  }

  private *unlitInStandby(): InSteps<ReadonlySet<string>> {
    const { circuit } = this;
    if (!circuit.parts.some((part) => part.kind === "valve" && part.heater)) return NONE;
    // From the moment of switching on the heaters have what they have at idle, save where others' cathodes feed them.
    let before = yield* this.solveInSteps("cold", "nominal");
    if (yield* someUnheated(circuit, before)) before = yield* this.solveInSteps("idle", "nominal");
    const plant = yield* this.plants.solveInSteps(conditionsOf(circuit, "standby", "nominal"));
    const warm = this.solutionOf(plant);
    const unlit = yield* unlitBetween(circuit, before, warm);
    if (unlit.size === 0) this.solutions.set("standby nominal", warm);
    return unlit;
  }

  unlit(state: StateName): ReadonlySet<string> {
    return this.unlitKept.get(state) ?? atOnce(this.unlitInSteps(state));
  }

  stillWarm(level: MainsLevel): Solution | undefined {
    return seenAs(this.guessedStillWarm(level), "whole");
  }

  guessedStillWarm(level: MainsLevel): DcSolution | undefined {
    return this.unlit("pulled").size > 0 ? this.solveStillWarm(level) : undefined;
  }

  unsolved(): Unsolvable | undefined {
    if (this.unsolvableKept === undefined) {
      const found = this.states.some((state) =>
        levels.some((level) => this.solve(state, level).unsolved !== undefined),
      );
      this.unsolvableKept = found && {
        blind: new Seen(this, "none"),
        rest: new Seen(this, "rest"),
        guesses: [new Seen(this, "guess"), ...this.withoutCulprits()],
      };
    }
    return this.unsolvableKept || undefined;
  }

  private solutionOf(plant: PlantSolution): DcSolution {
    return new DcSolution(plant, (solved) => this.findPhasors(solved));
  }

  solution(state: StateName, level: MainsLevel): Solution | undefined {
    return seenAs(this.guessed(state, level), "whole");
  }

  /** With a guess at the figures of what is unsolved. */
  guessed(state: StateName, level: MainsLevel): DcSolution | undefined {
    return this.states.includes(state) ? this.solve(state, level) : undefined;
  }

  drive(level: MainsLevel): readonly DriveResult[] {
    return this.drivenAt(level).told;
  }

  guessedDrive(level: MainsLevel): readonly DriveResult[] {
    return this.drivenAt(level).all;
  }

  private drivenAt(level: MainsLevel): Driven {
    let driven = this.driven.get(level);
    if (!driven) {
      const idle = this.solve("idle", level);
      const { unsolved } = idle;
      const all = this.drivenFrom(idle);
      const told = unsolved ? all.filter(({ stage }) => !isUnsolved(unsolved, stage)) : all;
      driven = { all, told };
      this.driven.set(level, driven);
    }
    return driven;
  }

  private drivenFrom(idle: DcSolution): readonly DriveResult[] {
    const { circuit } = this;
    const { topology } = idle;
    const lawOf = this.laws.section;
    if (this.stages?.topology !== topology)
      this.stages = { topology, found: findStages(circuit, topology, lawOf) };
    return driveStages({
      circuit,
      stages: this.stages.found,
      topology,
      nodeVolts: idle.nodeVolts,
      sourceOhms: (nodes, held) => idle.sourceOhms(nodes, held),
      lawOf,
    });
  }

  *everything(): InSteps<void> {
    for (const state of this.states) {
      for (const level of levels) {
        const solution = yield* this.solveInSteps(state, level);
        yield;
        if (solution.unsolved?.whole) continue;
        yield* solution.rippleInSteps();
        yield;
        void solution.readings;
        yield;
      }
    }
    for (const level of levels) {
      this.drive(level);
      yield;
    }
    yield* this.discharge.get("high")!.inSteps();
  }

  atSettings(settings: ReadonlyMap<string, number>): Analysis {
    const key = [...settings].sort(([a], [b]) => (a < b ? -1 : 1)).join(";");
    let found = this.turned.get(key);
    if (!found) {
      found = this.turnedTo(settings, "whole");
      this.turned.set(key, found);
    }
    return found;
  }

  turnedTo(settings: ReadonlyMap<string, number>, seen: Sight): Analysis {
    return new Turned(this, settings, this.options, seen);
  }

  get hotSwitch(): ReadonlyMap<string, number> {
    return hotSwitchOf(this.solution("idle", "high"));
  }

  /** The circuit without the sources that have a part in what is unsolved, and where nothing is solved, without its amplifying valves. */
  private withoutCulprits(): readonly Analysis[] {
    const { circuit } = this;
    const sources = new Set<string>();
    const valves = new Set<string>();
    for (const state of this.states) {
      for (const level of levels) {
        const { unsolved } = this.solve(state, level);
        if (!unsolved) continue;
        for (const part of circuit.parts) {
          const { reference } = part;
          if (part.kind === "source" && isUnsolved(unsolved, reference)) sources.add(reference);
          if (part.kind === "valve" && unsolved.whole && part.sections.some(isAmplifying))
            valves.add(reference);
        }
      }
    }
    return [sources, valves]
      .filter(({ size }) => size > 0)
      .map((names) => otherwise(analyse(withoutParts(circuit, names), this.options), "guess"));
  }

  /** A solution with pots set otherwise, from the one that stands; undefined where that takes an analysis of its own. */
  solutionNear(
    state: StateName,
    level: MainsLevel,
    other: Circuit,
    settings: ReadonlyMap<string, number>,
  ): DcSolution | undefined {
    const near = turn(this.solve(state, level).plant, other, settings, this.supplies);
    return near && this.solutionOf(near);
  }
}

/** The same amplifier with pots set otherwise: what is near the solution that stands is found from it. */
class Turned implements Analysis {
  readonly circuit: Circuit;
  private wholeKept: Analysis | undefined;
  private readonly found = new Map<string, Solution | undefined>();

  constructor(
    private readonly from: Solved,
    private readonly settings: ReadonlyMap<string, number>,
    private readonly options: AnalyseOptions,
    private readonly seen: Sight,
  ) {
    this.circuit = withSettings(from.circuit, settings);
  }

  get states(): readonly StateName[] {
    return this.from.states;
  }

  private get whole(): Analysis {
    this.wholeKept ??= otherwise(analyse(this.circuit, this.options), this.seen);
    return this.wholeKept;
  }

  solution(state: StateName, level: MainsLevel): Solution | undefined {
    if (!this.states.includes(state)) return undefined;
    const { found } = this;
    const key = `${state} ${level}`;
    if (!found.has(key)) {
      const near = this.from.solutionNear(state, level, this.circuit, this.settings);
      found.set(key, seenAs(near, this.seen) ?? this.whole.solution(state, level));
    }
    return found.get(key);
  }

  get discharge() {
    return this.whole.discharge;
  }

  drive(level: MainsLevel): readonly DriveResult[] {
    return this.whole.drive(level);
  }

  unlit(state: StateName): ReadonlySet<string> {
    return this.from.unlit(state);
  }

  stillWarm(level: MainsLevel): Solution | undefined {
    return this.whole.stillWarm(level);
  }

  unsolved(): Unsolvable | undefined {
    return this.whole.unsolved();
  }

  atSettings(more: ReadonlyMap<string, number>): Analysis {
    return this.from.atSettings(new Map([...this.settings, ...more]));
  }

  everything(): InSteps<void> {
    return this.whole.everything();
  }

  get hotSwitch(): ReadonlyMap<string, number> {
    return hotSwitchOf(this.solution("idle", "high"));
  }
}

/** How much is told where something is unsolved: as `Unsolvable` has it, and `whole` for what is not. */
type Sight = "guess" | "rest" | "none" | "whole";

/** What is told of a solution. One that is whole stands as it is. */
function seenAs(solution: DcSolution | undefined, seen: Sight): DcSolution | undefined {
  if (seen === "none") return solution?.blind();
  if (solution?.unsolved === undefined || seen === "guess") return solution;
  return solution.without(seen === "rest");
}

/** The view of that kind, of an analysis of which something may be unsolved. */
function otherwise(analysis: Analysis, seen: Sight): Analysis {
  const other = seen === "whole" ? undefined : analysis.unsolved();
  if (!other) return analysis;
  return seen === "guess" ? other.guesses[0] : seen === "rest" ? other.rest : other.blind;
}

/** An analysis of which something is unsolved, with more or less of it told. */
class Seen implements Analysis {
  readonly circuit: Circuit;
  readonly states: readonly StateName[];
  readonly discharge: Analysis["discharge"];
  private readonly found = new Map<string, Solution | undefined>();
  private readonly turned = new Map<string, Analysis>();

  constructor(
    private readonly from: Solved,
    private readonly seen: Sight,
  ) {
    this.circuit = from.circuit;
    this.states = from.states;
    this.discharge =
      seen === "guess"
        ? new Map([...from.discharge].map(([level, emptied]) => [level, new GuessedEmptied(emptied)]))
        : seen === "none"
          ? new Map(levels.map((level) => [level, { warm: new Map(), out: new Map() }]))
          : from.discharge;
  }

  solution(state: StateName, level: MainsLevel): Solution | undefined {
    return this.kept(`${state} ${level}`, () => this.from.guessed(state, level));
  }

  stillWarm(level: MainsLevel): Solution | undefined {
    return this.kept(level, () => this.from.guessedStillWarm(level));
  }

  private kept(key: string, find: () => DcSolution | undefined): Solution | undefined {
    if (!this.found.has(key)) this.found.set(key, seenAs(find(), this.seen));
    return this.found.get(key);
  }

  drive(level: MainsLevel): readonly DriveResult[] {
    if (this.seen === "none") return [];
    return this.seen === "guess" ? this.from.guessedDrive(level) : this.from.drive(level);
  }

  unlit(state: StateName): ReadonlySet<string> {
    return this.from.unlit(state);
  }

  atSettings(settings: ReadonlyMap<string, number>): Analysis {
    const key = [...settings].sort(([a], [b]) => (a < b ? -1 : 1)).join(";");
    let found = this.turned.get(key);
    if (!found) {
      found = this.from.turnedTo(settings, this.seen);
      this.turned.set(key, found);
    }
    return found;
  }

  unsolved(): Unsolvable | undefined {
    return this.from.unsolved();
  }

  everything(): InSteps<void> {
    return this.from.everything();
  }

  get hotSwitch(): ReadonlyMap<string, number> {
    return hotSwitchOf(this.solution("idle", "high"));
  }
}

const isAmplifying = ({ electrodes }: ValveSection): boolean => electrodes.has("grid");

/** A circuit with parts taken out; its nets stay. */
function withoutParts(circuit: Circuit, names: ReadonlySet<string>): Circuit {
  const parts = circuit.parts.filter((part) => !names.has(part.reference));
  return { ...circuit, parts, partByReference: new Map(parts.map((part) => [part.reference, part])) };
}

/** A circuit with its pots turned. */
function withSettings(circuit: Circuit, settings: ReadonlyMap<string, number>): Circuit {
  const parts = circuit.parts.map((part) => {
    const setting = part.kind === "pot" ? settings.get(part.reference) : undefined;
    if (part.kind !== "pot" || setting === undefined) return part;
    return { ...part, setting: { ...part.setting, value: setting } };
  });
  return { ...circuit, parts, partByReference: new Map(parts.map((part) => [part.reference, part])) };
}

const levels: readonly MainsLevel[] = ["low", "nominal", "high"];

type Emptied = ReadonlyMap<string, Discharge>;

/** How the capacitors empty, with the valves warm and with all of them out: the equations of each serve every level. */
class Discharges {
  private readonly equations = new Map<boolean, Emptying>();
  readonly byLevel: ReadonlyMap<MainsLevel, EmptiedAtLevel>;

  constructor(
    private readonly circuit: Circuit,
    states: readonly StateName[],
    private readonly solve: (state: StateName, level: MainsLevel) => DcSolution,
    private readonly laws: Laws,
  ) {
    const unloaded = states.includes("pulled") ? "pulled" : "idle";
    this.byLevel = new Map(levels.map((level) => [level, new EmptiedAtLevel(this, level, unloaded)]));
  }

  *from(state: StateName, level: MainsLevel, pulled: boolean): InSteps<Emptied> {
    const { circuit } = this;
    const solution = this.solve(state, level);
    const start = new Map<string, number>();
    const unknown: Capacitor[] = [];
    for (const part of circuit.parts) {
      if (part.kind !== "capacitor") continue;
      const readings = solution.readings.get(part.reference);
      // From the average of the steady state, as the tables of discharge have it.
      const volts = readings?.volts;
      if (volts !== undefined) start.set(part.reference, volts);
      else unknown.push(part);
    }
    if (unknown.length > 0) {
      const shared = sharedByCharge(unknown, solution.topology, solution.nodeVolts);
      for (const [reference, volts] of shared) start.set(reference, volts);
    }
    const { topology } = this.solve("idle", level);
    const emptying = this.emptying(level, topology, pulled);
    return yield* emptying.from(start, solution.topology === topology ? solution.nodeVolts : undefined);
  }

  /** What is unsolved where the capacitors have been charged from. */
  unsolved(state: StateName, level: MainsLevel): Unsolved | undefined {
    return this.solve(state, level).unsolved;
  }

  private emptying(level: MainsLevel, topology: Topology, pulled: boolean): Emptying {
    let emptying = this.equations.get(pulled);
    if (!emptying) {
      const { circuit } = this;
      const idle = conditionsOf(circuit, "idle", level);
      const all = new Set(
        circuit.parts.filter((part) => part.kind === "valve").map((part) => part.reference),
      );
      emptying = new Emptying(circuit, topology, pulled ? { ...idle, pulled: all } : idle, this.laws);
      this.equations.set(pulled, emptying);
    }
    return emptying;
  }
}

/** Worked out when first asked for: `warm` from idle, the valves conducting; `out` from the unloaded supply, every valve out. */
class EmptiedAtLevel {
  private warmKept: Emptied | undefined;
  private outKept: Emptied | undefined;
  private warmTold: Emptied | undefined;
  private outTold: Emptied | undefined;
  constructor(
    private readonly discharges: Discharges,
    private readonly level: MainsLevel,
    private readonly unloaded: StateName,
  ) {}
  private findWarm(): InSteps<Emptied> {
    return this.discharges.from("idle", this.level, false);
  }
  private findOut(): InSteps<Emptied> {
    return this.discharges.from(this.unloaded, this.level, true);
  }
  get warm(): Emptied {
    this.warmTold ??= this.known(this.guessedWarm, "idle");
    return this.warmTold;
  }
  get out(): Emptied {
    this.outTold ??= this.known(this.guessedOut, this.unloaded);
    return this.outTold;
  }
  /** With a guess at the figures of what is unsolved. */
  get guessedWarm(): Emptied {
    this.warmKept ??= atOnce(this.findWarm());
    return this.warmKept;
  }
  get guessedOut(): Emptied {
    this.outKept ??= atOnce(this.findOut());
    return this.outKept;
  }
  private known(found: Emptied, state: StateName): Emptied {
    const unsolved = this.discharges.unsolved(state, this.level);
    if (!unsolved) return found;
    return new Map([...found].filter(([reference]) => !isUnsolved(unsolved, reference)));
  }
  *inSteps(): InSteps<void> {
    this.warmKept ??= yield* this.findWarm();
    yield;
    this.outKept ??= yield* this.findOut();
    yield;
  }
}

const NONE: ReadonlySet<string> = new Set();

class GuessedEmptied {
  constructor(private readonly emptied: EmptiedAtLevel) {}
  get warm(): Emptied {
    return this.emptied.guessedWarm;
  }
  get out(): Emptied {
    return this.emptied.guessedOut;
  }
}

const NO_PEAKS: ReadonlyMap<string, number> = new Map();

/** Every plate switched hot onto empty reservoirs at high mains. */
const hotSwitchOf = (solution: Solution | undefined): ReadonlyMap<string, number> =>
  solution instanceof DcSolution ? solution.hotSwitch : NO_PEAKS;
