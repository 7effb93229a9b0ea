/** Voltages and currents of every state at every mains level as plain data, SI units. The keys are a promise. */
import type { CheckResult } from "../check.ts";
import type { MainsLevel } from "../circuit/model.ts";
import type { Discharge, DriveResult, ReadingName, Solution, StateName } from "../physics/results.ts";
import { formatVersion } from "./json.ts";
import { finite } from "./report.ts";

export const levels: readonly MainsLevel[] = ["low", "nominal", "high"];

/** Averages; ripple is peak to peak; `low` and `high` is the band that the parts' tolerances give. */
export interface NetVolts {
  readonly volts: number | null;
  readonly low: number | null;
  readonly high: number | null;
  readonly ripple: number | null;
  /** Its alternating part, on the nets of a winding. */
  readonly rms?: number | null;
  readonly peak?: number | null;
  readonly trough?: number | null;
}

export type PartReadings = Partial<Record<Exclude<ReadingName, "voltAmperes"> | "va", number | null>>;

export interface SolutionVolts {
  readonly mainsVolts: number | null;
  readonly solved: boolean;
  /** Why there are no numbers, where there are none. */
  readonly trouble?: string;
  readonly nets: Readonly<Record<string, NetVolts>>;
  readonly parts: Readonly<Record<string, PartReadings>>;
  /** What rests on an estimate, for want of a figure in the file. */
  readonly estimates: readonly string[];
}

/** Null seconds: nothing ever empties it. */
export type DischargeVolts = Readonly<
  Record<
    string,
    { joules: number | null; volts: number | null; secondsTo60V: number | null; secondsTo50V: number | null }
  >
>;

export interface VoltsReport {
  readonly version: number;
  readonly amp: string | null;
  readonly path: string;
  /** rms volts at each level. */
  readonly mains: Readonly<Record<MainsLevel, number>>;
  /** What the levels come from; `given` is false where the file has no mains line and 230 V 50 Hz are taken. */
  readonly supply: {
    readonly given: boolean;
    readonly hertz: number;
    readonly region: string | null;
    readonly toleranceSource: string;
  };
  readonly states: Readonly<Partial<Record<StateName, Partial<Record<MainsLevel, SolutionVolts>>>>>;
  /** From switch-off in the steady state, valves warm and conducting. */
  readonly discharge: Readonly<Partial<Record<MainsLevel, DischargeVolts>>>;
  /** The same with the valves out of their sockets. */
  readonly dischargeValvesOut: Readonly<Partial<Record<MainsLevel, DischargeVolts>>>;
  /** The output stages driven by a sine up to the onset of clipping. */
  readonly drive: Readonly<Partial<Record<MainsLevel, readonly DriveVolts[]>>>;
  /** Valves that go cold with the output valves out, since their heaters are in one string with those. */
  readonly coldWhenPulled: readonly string[];
  /** Valves that the open standby switch lets go cold. */
  readonly coldInStandby: readonly string[];
  /** Highest current of a rectifier plate when it is switched on hot, amperes. */
  readonly hotSwitch: Readonly<Record<string, number | null>>;
}

export interface DriveVolts {
  readonly stage: string;
  /** Into the speaker at the onset of clipping. */
  readonly watts: number | null;
  readonly limit: DriveResult["limit"];
  /** Worst dissipation over the sweep; `level` is the share of the drive at which it stands. */
  readonly worst: Readonly<Record<string, { watts: number | null; level: number | null }>>;
}

export interface VoltsOptions {
  readonly states?: readonly StateName[];
  readonly mains?: readonly MainsLevel[];
}

export function voltsReport(result: CheckResult, options: VoltsOptions = {}): VoltsReport {
  const { circuit, analysis } = result;
  const chosen = options.mains ?? levels;
  const states = analysis.states.filter((state) => options.states?.includes(state) ?? true);
  return {
    version: formatVersion,
    amp: circuit.name ?? null,
    path: result.file,
    mains: circuit.mains.volts,
    supply: {
      given: circuit.mains.given,
      hertz: circuit.mains.hertz,
      region: circuit.mains.region ?? null,
      toleranceSource: circuit.mains.toleranceSource,
    },
    states: record(states, (state) =>
      record(chosen, (level) => {
        const solution = analysis.solution(state, level);
        return solution && solutionVolts(result, solution);
      }),
    ),
    discharge: record(chosen, (level) => dischargeVolts(analysis.discharge.get(level)?.warm)),
    dischargeValvesOut: record(chosen, (level) => dischargeVolts(analysis.discharge.get(level)?.out)),
    drive: record(chosen, (level) => analysis.drive(level).map(driveVolts)),
    coldWhenPulled: states.includes("pulled") ? [...analysis.unlit("pulled")] : [],
    coldInStandby: states.includes("standby") ? [...analysis.unlit("standby")] : [],
    hotSwitch: Object.fromEntries([...analysis.hotSwitch].map(([key, amps]) => [key, finite(amps)])),
  };
}

function solutionVolts(result: CheckResult, solution: Solution): SolutionVolts {
  // By name and not by index: nets joined by a piece of wire are one, and each keeps its name.
  const nets = [...result.circuit.netByName].map(([name, net]): [string, NetVolts] => {
    const band = solution.solved ? solution.netBand(net) : undefined;
    const rms = solution.rms[net] ?? 0;
    return [
      name,
      {
        volts: finite(solution.volts[net]),
        low: finite(band?.low ?? solution.volts[net]),
        high: finite(band?.high ?? solution.volts[net]),
        ripple: finite(solution.ripple[net]),
        ...(rms > 0 ? { rms: finite(rms) } : {}),
        peak: finite(solution.peak[net]),
        trough: finite(solution.trough[net]),
      },
    ];
  });
  return {
    mainsVolts: finite(solution.mainsVolts),
    solved: solution.solved,
    ...(solution.trouble ? { trouble: solution.trouble.message } : {}),
    nets: Object.fromEntries(nets),
    parts: Object.fromEntries(
      [...solution.readings].map(([key, readings]) => [
        key,
        partReadings(carriesUnknown(result, solution, key, readings) ? { volts: readings.volts } : readings),
      ]),
    ),
    estimates: solution.estimates,
  };
}

/** A fuse or a closed switch in an alternating lead whose current was not found: none is told, for nought it is not. */
function carriesUnknown(
  { circuit }: CheckResult,
  solution: Solution,
  key: string,
  { amps = 0, rms = 0 }: Partial<Readonly<Record<ReadingName, number>>>,
): boolean {
  const part = circuit.partByReference.get(key) ?? circuit.partByReference.get(key.replace(/\.[^.]*$/, ""));
  if ((part?.kind !== "fuse" && part?.kind !== "switch") || Math.max(Math.abs(amps), rms) > leastAmps)
    return false;
  const nets =
    part.kind === "fuse"
      ? [...part.terminals.values()]
      : part.poles.flatMap(({ common, throws }) => [
          ...(common === undefined ? [] : [common]),
          ...throws.values(),
        ]);
  return nets.some((net) => (solution.rms[net] ?? 0) > leastVolts);
}

/** Less is the arithmetic's noise. */
const leastAmps = 1e-9;
/** A lead of fewer alternating volts carries ripple alone. */
const leastVolts = 2;

function partReadings(readings: Partial<Readonly<Record<ReadingName, number>>>): PartReadings {
  return Object.fromEntries(
    Object.entries(readings)
      .filter(([, value]) => value !== undefined)
      .map(([name, value]) => [name === "voltAmperes" ? "va" : name, finite(value)]),
  );
}

function dischargeVolts(capacitors: ReadonlyMap<string, Discharge> | undefined): DischargeVolts | undefined {
  if (!capacitors) return undefined;
  return Object.fromEntries(
    [...capacitors].map(([reference, { joules, volts, secondsTo60V, secondsTo50V }]) => [
      reference,
      {
        joules: finite(joules),
        volts: finite(volts),
        secondsTo60V: finite(secondsTo60V),
        secondsTo50V: finite(secondsTo50V),
      },
    ]),
  );
}

function driveVolts({ stage, watts, limit, worst }: DriveResult): DriveVolts {
  return {
    stage,
    watts: finite(watts),
    limit,
    worst: Object.fromEntries(
      [...worst].map(([key, { watts, level }]) => [key, { watts: finite(watts), level: finite(level) }]),
    ),
  };
}

/** An object with these keys; those that give nothing are left out. */
function record<K extends string, V>(
  keys: readonly K[],
  value: (key: K) => V | undefined,
): Partial<Record<K, V>> {
  const entries: [K, V][] = [];
  for (const key of keys) {
    const given = value(key);
    if (given !== undefined) entries.push([key, given]);
  }
  return Object.fromEntries(entries) as Partial<Record<K, V>>;
}
