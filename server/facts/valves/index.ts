/**
 * Published valve data by name. Files hold the sheet's own units; everything here is SI. Nothing is parsed or
 * converted until it is asked for, so that a program that needs no valve pays for none.
 */
import { valveFiles } from "./all.ts";
import type {
  LimitsFile,
  PointFile,
  RatingSystem,
  RectifierOperationFile,
  Sourced,
  ValveFile,
  ValveKind,
} from "./file.ts";
import { withVariants } from "./variants.ts";

export type {
  LimitsFile,
  PointFile,
  RatingSystem,
  RectifierOperationFile,
  Sourced,
  ValveFile,
  ValveKind,
} from "./file.ts";

/** A published limit block. A figure that is absent is not printed, or not known: unchecked, never passed. */
export interface ValveLimits extends Sourced {
  readonly ratingSystem?: RatingSystem;
  readonly per: "section" | "valve";
  readonly plateVolts?: number;
  readonly plateWatts?: number;
  /** Both sections of a twin together. */
  readonly plateWattsBothSections?: number;
  readonly platePeakVolts?: number;
  readonly plateColdVolts?: number;
  readonly screenVolts?: number;
  readonly screenColdVolts?: number;
  readonly screenWatts?: number;
  /** Screen dissipation allowed at full output, where the sheet gives one. */
  readonly screenFullSignalWatts?: number;
  readonly cathodeAmps?: number;
  /** Heater negative of the cathode, and positive of it: peak total, and the part of it that may be dc. */
  readonly heaterNegativeVolts?: number;
  readonly heaterPositiveVolts?: number;
  readonly heaterPositiveDcVolts?: number;
  readonly gridOhmsFixedBias?: number;
  readonly gridOhmsCathodeBias?: number;
  /** Below so many watts of plate and screen together, the two that follow hold instead. */
  readonly gridOhmsBelowWatts?: number;
  readonly gridOhmsFixedBiasBelow?: number;
  readonly gridOhmsCathodeBiasBelow?: number;
  /** Magnitude. */
  readonly gridNegativeVolts?: number;
  readonly gridPositiveVolts?: number;
  readonly plateScreenTiedVolts?: number;
  readonly platePlusScreenWatts?: number;
  // rectifier valves
  readonly inverseVolts?: number;
  readonly outputAmps?: number;
  readonly plateAmpsPeak?: number;
  readonly hotSwitchAmps?: number;
  readonly plateRmsVoltsCapacitorInput?: number;
  readonly plateRmsVoltsChokeInput?: number;
  readonly reservoirFarads?: number;
  readonly chokeHenries?: number;
  /** Output current that the rating chart allows: pairs of [rms volts per plate, amperes], rising volts. */
  readonly outputAmpsByRmsVolts?: {
    readonly capacitor?: readonly (readonly [number, number])[];
    readonly choke?: readonly (readonly [number, number])[];
  };
  // semiconductors
  readonly forwardAmpsAverage?: number;
  readonly surgeAmps?: number;
  readonly forwardVolts?: number;
  readonly forwardVoltsAtAmps?: number;
  readonly reverseAmps?: number;
  /** Part by which the average current falls on a capacitor load, 0..1. */
  readonly capacitorLoadDerating?: number;
}

export interface ValveSectionFacts {
  /** `a`, `b`; `triode`, `pentode`; empty for a valve of one section. The first is the sheet's section 1. */
  readonly name: string;
  /** plate, grid, screen, suppressor, cathode; plate1, plate2, cathode in a rectifier; diode1, diode2 of a detector. */
  readonly electrodes: readonly string[];
  /** Electrode -> pin, as printed (`5+6` where two pins carry it). */
  readonly pins: ReadonlyMap<string, string>;
  readonly limits: ValveLimits;
  readonly note?: string;
}

export interface HeaterArrangement {
  /** `single`, or `series` and `parallel` for a centre-tapped heater. */
  readonly name: "single" | "series" | "parallel";
  readonly volts: number;
  readonly amps: number;
  readonly pins?: string;
}

export interface ValveFacts {
  /** Canonical name; the key that the circuit carries. */
  readonly type: string;
  readonly kind: ValveKind;
  readonly names: readonly string[];
  readonly base?: string;
  readonly heating?: "direct" | "indirect";
  readonly heater: readonly HeaterArrangement[];
  readonly sections: readonly ValveSectionFacts[];
  /** The block to hold a design against where a section has none of its own; for a twin, of each section. */
  readonly limits: ValveLimits;
  readonly otherLimits: readonly ValveLimits[];
  readonly points: readonly PointFile[];
  /** Rectifiers: volts at amperes through one plate, first one leading. */
  readonly drop: readonly (Sourced & { readonly amps: number; readonly volts: number })[];
  /** Rectifiers: least source ohms per plate at rms volts per plate, rising volts. */
  readonly leastSourceOhms: readonly (Sourced & { readonly rmsVolts: number; readonly ohms: number })[];
  readonly operations: readonly RectifierOperationFile[];
  /** One line for completion: what it is, its heater, its limits. */
  readonly summary: string;
  readonly pinoutNote?: string;
  readonly note?: string;
  /** The file as it stands, in the sheet's units. */
  readonly file: ValveFile;
}

/** How a Soviet designation is written in Latin letters: `6Ж32П` is `6Zh32P`. Only those letters that they use. */
const latinOf: Readonly<Record<string, string>> = {
  А: "A",
  Б: "B",
  В: "V",
  Г: "G",
  Д: "D",
  Е: "E",
  Ж: "ZH",
  И: "I",
  К: "K",
  Л: "L",
  М: "M",
  Н: "N",
  П: "P",
  Р: "R",
  С: "S",
  Т: "T",
  Ф: "F",
  Х: "KH",
  Ц: "TS",
};

/** Names compare without case, spaces, hyphens, and in Latin letters: `6L6-GC` is `6L6GC`, `6П14П` is `6P14P`. */
export function nameKey(name: string): string {
  return name
    .toUpperCase()
    .replace(/[\s-]/g, "")
    .replace(/[А-Ц]/g, (letter) => latinOf[letter] ?? letter);
}

/**
 * What a name is looked up as: itself, then each of the names that stand on the glass with a stroke between (`5AR4/GZ34`,
 * `6V6GT/G`), the first that is known being meant.
 */
export function readingsOf(name: string): readonly string[] {
  return name.includes("/") ? [name, ...name.split("/")] : [name];
}

interface Named {
  readonly file: ValveFile;
  readonly note?: string;
}

let allFiles: readonly ValveFile[] | undefined;
/** Those of other heaters and bases too. */
function everyFile(): readonly ValveFile[] {
  allFiles ??= withVariants(valveFiles);
  return allFiles;
}

let nameTable: Map<string, Named> | undefined;
function table(): Map<string, Named> {
  if (!nameTable) {
    nameTable = new Map();
    for (const file of everyFile()) nameTable.set(nameKey(file.type), { file });
    for (const file of everyFile()) {
      for (const { name, note } of file.equivalents) {
        // A type of its own, or the first that claims the name, keeps it.
        if (!nameTable.has(nameKey(name))) nameTable.set(nameKey(name), { file, note });
      }
    }
  }
  return nameTable;
}

/** The name as it is known, of those that it can be read as. */
function readAs(name: string): { readonly name: string; readonly named: Named } | undefined {
  for (const reading of readingsOf(name)) {
    const named = table().get(nameKey(reading));
    if (named) return { name: reading, named };
  }
  return undefined;
}

const known = new WeakMap<ValveFile, ValveFacts>();

/** Facts of one data file, in SI. The same file gives the same object. */
export function factsOf(file: ValveFile): ValveFacts {
  let facts = known.get(file);
  if (!facts) {
    facts = convert(file);
    known.set(file, facts);
  }
  return facts;
}

/**
 * A valve or rectifier valve by any of its names, whatever the case.
 * Semiconductors are found by `findSemiconductor`.
 */
export function findValve(name: string): ValveFacts | undefined {
  const file = readAs(name)?.named.file;
  return file && file.kind !== "diode" ? factsOf(file) : undefined;
}

/** A silicon rectifier diode by any of its names. */
export function findSemiconductor(name: string): ValveFacts | undefined {
  const file = readAs(name)?.named.file;
  return file && file.kind === "diode" ? factsOf(file) : undefined;
}

/** Why the name is not quite the type it stands for (`near`, `higher volts`, lower limits); undefined when it is. */
export function equivalentNote(name: string): string | undefined {
  return readAs(name)?.named.note;
}

/**
 * The limits printed for that very name where the file holds them apart from the type's (6V6GT under 6V6GTA): of a section
 * where they differ (6U8 under 6U8A), of any when none is asked for.
 */
export function limitsOfName(name: string, section?: string): ValveLimits | undefined {
  const found = readAs(name);
  return found && limitsFor(found.named.file, found.name, section);
}

/** The same in a given file. */
export function limitsFor(file: ValveFile, name: string, section?: string): ValveLimits | undefined {
  const number = 1 + file.sections.findIndex((one) => one.name === section);
  const own = file.limits_other?.findIndex(
    (block) =>
      block.for?.some((other) => nameKey(other) === nameKey(name)) &&
      (block.section === undefined || section === undefined || block.section === number),
  );
  return own === undefined || own < 0 ? undefined : factsOf(file).otherLimits[own];
}

/** Every name that `findValve` knows, canonical ones first. */
export function valveNames(): readonly string[] {
  return namesWhere((file) => file.kind !== "diode");
}

/** Every name that `findSemiconductor` knows. */
export function semiconductorNames(): readonly string[] {
  return namesWhere((file) => file.kind === "diode");
}

function namesWhere(wanted: (file: ValveFile) => boolean): readonly string[] {
  const files = everyFile().filter(wanted);
  return [
    ...new Set([...files.map((f) => f.type), ...files.flatMap((f) => f.equivalents.map((e) => e.name))]),
  ];
}

/** Every type with a file, canonical names. */
export function valveTypes(): readonly ValveFacts[] {
  return valveFiles.map(factsOf);
}

const milli = (value?: number) => (value === undefined ? undefined : value / 1000);
const micro = (value?: number) => (value === undefined ? undefined : value / 1e6);

function limitsSi(f: LimitsFile): ValveLimits {
  const chart = (pairs?: readonly (readonly [number, number])[]) =>
    pairs?.map(([v, mA]) => [v, mA / 1000] as const);
  const limits: ValveLimits = {
    source: f.source,
    evidence: f.evidence,
    confidence: f.confidence,
    note: f.note,
    also_seen: f.also_seen,
    ratingSystem: f.rating_system,
    per: f.per ?? "valve",
    plateVolts: f.plate_V,
    plateWatts: f.plate_W,
    plateWattsBothSections: f.plate_W_both_sections,
    platePeakVolts: f.plate_V_peak,
    plateColdVolts: f.plate_V_cold,
    screenVolts: f.screen_V,
    screenColdVolts: f.screen_V_cold,
    screenWatts: f.screen_W,
    screenFullSignalWatts: f.screen_W_peak_signal,
    cathodeAmps: milli(f.cathode_mA),
    heaterNegativeVolts: f.heater_negative_V,
    heaterPositiveVolts: f.heater_positive_V,
    heaterPositiveDcVolts: f.heater_positive_dc_V,
    gridOhmsFixedBias: f.grid_ohm_fixed_bias,
    gridOhmsCathodeBias: f.grid_ohm_cathode_bias,
    gridOhmsBelowWatts: f.grid_ohm_below_W,
    gridOhmsFixedBiasBelow: f.grid_ohm_fixed_bias_below,
    gridOhmsCathodeBiasBelow: f.grid_ohm_cathode_bias_below,
    gridNegativeVolts: f.grid_V_negative_max,
    gridPositiveVolts: f.grid_V_positive_max,
    plateScreenTiedVolts: f.plate_screen_tied_V,
    platePlusScreenWatts: f.plate_plus_screen_W,
    inverseVolts: f.piv_V ?? f.vrrm_V,
    outputAmps: milli(f.dc_output_mA),
    plateAmpsPeak: milli(f.peak_plate_mA_per_plate),
    hotSwitchAmps: f.hot_switching_A_per_plate,
    plateRmsVoltsCapacitorInput: f.rms_V_per_plate_capacitor_input,
    plateRmsVoltsChokeInput: f.rms_V_per_plate_choke_input,
    reservoirFarads: micro(f.reservoir_uF_max),
    chokeHenries: f.choke_H_min,
    outputAmpsByRmsVolts: f.dc_output_by_rms && {
      capacitor: chart(f.dc_output_by_rms.capacitor),
      choke: chart(f.dc_output_by_rms.choke),
    },
    forwardAmpsAverage: f.if_av_A,
    surgeAmps: f.ifsm_A,
    forwardVolts: f.vf_V,
    forwardVoltsAtAmps: f.vf_at_A,
    reverseAmps: micro(f.ir_uA_25C),
    capacitorLoadDerating:
      f.capacitive_load_derate_pct === undefined ? undefined : f.capacitive_load_derate_pct / 100,
  };
  // Absent means absent: a rule asks `in`, a completion lists keys.
  return Object.fromEntries(
    Object.entries(limits).filter(([, value]) => value !== undefined),
  ) as unknown as ValveLimits;
}

function convert(file: ValveFile): ValveFacts {
  const limits = limitsSi(file.limits);
  const heater = (file.heater?.arrangements ?? []) as readonly HeaterArrangement[];
  return {
    type: file.type,
    kind: file.kind,
    names: [file.type, ...file.equivalents.map((e) => e.name)],
    base: file.base,
    heating: file.heating,
    heater,
    sections: file.sections.map((section) => ({
      name: section.name,
      electrodes: Object.keys(section.pins),
      pins: new Map(Object.entries(section.pins)),
      limits: section.limits ? limitsSi(section.limits) : limits,
      note: section.note,
    })),
    limits,
    otherLimits: (file.limits_other ?? []).map(limitsSi),
    points: file.points ?? [],
    drop: (file.drop ?? []).map((d) => ({ ...d, amps: d.mA_per_plate / 1000, volts: d.drop_V })),
    leastSourceOhms: (file.min_supply_impedance ?? []).map((m) => ({
      ...m,
      rmsVolts: m.rms_V_per_plate,
      ohms: m.ohm_per_plate,
    })),
    operations: file.operations ?? [],
    summary: summaryOf(file, limits, heater),
    pinoutNote: file.pinout_note,
    note: file.note,
    file,
  };
}

/** The kind in the trade's words. */
function kindWords({ kind, sections }: ValveFile): string {
  switch (kind) {
    case "beam-tetrode":
      return "beam tetrode";
    case "twin-triode":
      return "twin triode";
    case "triode":
      return sections.some(({ pins }) => pins.diode2 !== undefined) ? "triode with two diodes" : kind;
    default:
      return kind;
  }
}

function summaryOf(file: ValveFile, limits: ValveLimits, heater: readonly HeaterArrangement[]): string {
  const kind = kindWords(file);
  const words: string[] = [file.heating === "direct" ? `${kind}, directly heated` : kind];
  const heat = heater.map((h) => `${h.volts} V ${h.amps} A`).join(" or ");
  if (heat) words.push(`heater ${heat}`);
  // Of sections that differ, each its own limits.
  const apart = file.kind === "triode-pentode" ? file.sections.filter((section) => section.limits) : [];
  for (const section of apart) {
    const own = limitsSi(section.limits!);
    const figures = [own.plateVolts, own.plateWatts].map((value, at) => value && `${value} ${"VW"[at]}`);
    words.push([section.name, ...figures.filter(Boolean)].join(" "));
  }
  if (apart.length > 0) {
    const system = apart[0].limits!.rating_system;
    if (system) words.push(`${system} ratings`);
    return words.join(", ");
  }
  if (limits.plateVolts !== undefined) words.push(`plate ${limits.plateVolts} V`);
  if (limits.plateWatts !== undefined) words.push(`${limits.plateWatts} W`);
  if (limits.screenVolts !== undefined) words.push(`screen ${limits.screenVolts} V`);
  if (limits.screenWatts !== undefined) words.push(`${limits.screenWatts} W`);
  if (limits.inverseVolts !== undefined) words.push(`${limits.inverseVolts} V inverse`);
  if (limits.outputAmps !== undefined) words.push(`${Math.round(limits.outputAmps * 1000)} mA`);
  if (limits.forwardAmpsAverage !== undefined) words.push(`${limits.forwardAmpsAverage} A`);
  const characteristic = file.points?.find(
    (p) =>
      p.mode === "characteristic" &&
      (p.mu !== undefined || p.gm_umho !== undefined) &&
      p.connection !== "triode-strapped",
  );
  if (characteristic?.mu !== undefined) words.push(`mu ${characteristic.mu}`);
  if (characteristic?.gm_umho !== undefined) words.push(`${characteristic.gm_umho / 1000} mA/V`);
  if (limits.ratingSystem) words.push(`${limits.ratingSystem} ratings`);
  return words.join(", ");
}
