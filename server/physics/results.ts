/**
 * What happens in the circuit: the numbers that rules compare and reports print. SI units; volts and amps are averages
 * over a mains cycle from circuit common, `rms` has its alternating part, ripple is peak to peak.
 */
import type { InSteps } from "../circuit/in-steps.ts";
import type { Circuit, MainsLevel, NetIndex } from "../circuit/model.ts";

export type StateName = "cold" | "standby" | "idle" | "drive" | "pulled";

/** A quantity with the band that part tolerances give it. */
export interface Band {
  readonly nominal: number;
  readonly low: number;
  readonly high: number;
}

export type ReadingName =
  | "volts"
  | "amps"
  | "rms"
  | "peak"
  | "inverse"
  | "watts"
  | "rmsVolts"
  | "peakVolts"
  | "voltAmperes"
  | "ripple"
  | "surge";

/**
 * Readings by key. Keys: `R5` (any two-terminal part), `R7.top`/`R7.bottom` (the halves of a pot), `V3.plate`,
 * `V3.screen`, `V3.grid`, `V3.cathode`, `V1.a.plate` …, `V5.plate1`, `V5.plate2`, `V5.cathode` (a rectifier valve),
 * `D1`, `BR1.1`..`BR1.4` (a bridge's arms: ac1-plus, ac2-plus, minus-ac1, minus-ac2), `T1.ht` (a winding),
 * `T1.ht.1` (its segments), `T1.primary`, `T1` (va, watts of copper loss), `V3.heater`, `C20`, `L1`, `S1`, `F1`.
 * An electrode's `volts` are to its own cathode (the cathode's to common); `watts` of plate and screen are dissipation.
 */
/** What of a circuit has no solution in a state, and why. */
export interface Unsolved {
  /** Nothing of it was solved. */
  readonly whole: boolean;
  readonly reasons: readonly { readonly message: string; readonly nets: readonly NetIndex[] }[];
  /** Nets whose volts are unknown. */
  readonly nets: ReadonlySet<NetIndex>;
  /** Parts of which nothing is known, valve sections (`V1.a`) and heaters (`V9.heater`) each by themselves. */
  readonly parts: ReadonlySet<string>;
  /** Transformers whose load is unknown, since what hangs on one of their windings is: none of their figures is known. */
  readonly transformers: readonly string[];
}

export interface Solution {
  readonly state: StateName;
  readonly level: MainsLevel;
  readonly mainsVolts: number;
  /** Average volts by net index; NaN where nothing fixes the net (no dc path). */
  readonly volts: Float64Array;
  /** Peak-to-peak ripple by net index; 0 where there is none. */
  readonly ripple: Float64Array;
  /** Highest and lowest instantaneous volts of the nets that carry alternating volts, else the average ± half ripple. */
  readonly peak: Float64Array;
  readonly trough: Float64Array;
  /** rms alternating part by net index (winding nets). */
  readonly rms: Float64Array;
  readonly readings: ReadonlyMap<string, Partial<Readonly<Record<ReadingName, number>>>>;
  /** Nets that nothing fixes. */
  readonly floating: readonly NetIndex[];
  /** False when no solution was found, or not of all: numbers of what is `unsolved` are then NaN, and `trouble` says where. */
  readonly solved: boolean;
  /** What has no solution; undefined where all is solved. */
  readonly unsolved?: Unsolved;
  readonly trouble?: { readonly message: string; readonly nets: readonly NetIndex[] };
  /** Keys of readings and names of nets that rest on an estimate, with the sentence that says which. */
  readonly estimates: readonly string[];
  /** Band of a net's volts or of a reading, by the parts' tolerances at this solution (first order, lazily computed). */
  netBand(net: NetIndex, average?: string): Band;
  /**
   * @param average reference of a valve to be taken as an average one, its own spread left out: what a design-maximum rating
   *                (IEC 60134) is held against
   */
  band(key: string, reading: ReadingName, average?: string): Band | undefined;
  /** The parts that move a net's volts most: for bench readings. `dVolts` for +100 % of the part's value. */
  sensitivity(net: NetIndex): readonly { readonly reference: string; readonly dVolts: number }[];
}

export interface Discharge {
  readonly joules: number;
  readonly volts: number;
  /** Infinity where nothing empties it. */
  readonly secondsTo60V: number;
  readonly secondsTo50V: number;
}

export interface DriveResult {
  readonly stage: string; // reference of the output transformer
  readonly watts: number; // at the onset of clipping or grid current
  /** `V3.plate`, `V3.screen`, and the resistors of screens and cathodes (`R14`) -> worst over the sweep. */
  readonly worst: ReadonlyMap<string, { readonly watts: number; readonly level: number }>;
  readonly levels: readonly {
    readonly level: number; // 0..1 of the grid swing at the onset
    readonly watts: number;
    readonly readings: ReadonlyMap<
      string,
      { readonly amps: number; readonly watts: number; readonly peak?: number; readonly peakVolts?: number }
    >;
  }[];
  readonly limit: "grid-current" | "clipping";
  /** Peak of the sine at each grid at the onset, volts. */
  readonly gridVoltsPeak?: number;
  /** The load that the plates see (plate to plate, or single-ended), with what is really fitted to the speaker winding. */
  readonly loadOhms?: number;
  /** False: nothing is fitted, and the nominal load was taken. */
  readonly loadFitted?: boolean;
  /** False: some level found no balance of supply, bias and drive; figures are the nearest found. */
  readonly solved?: boolean;
}

/** The same analysis seen otherwise, where a part of the circuit has no solution. */
export interface Unsolvable {
  /** Nothing is solved. */
  readonly blind: Analysis;
  /** What is solved counts as a solution; of the rest there are no figures. */
  readonly rest: Analysis;
  /**
   * Everything has figures, of what is unsolved a guess at them: good to see which limits there would be, and for nothing else. Where
   * sources contradict each other, one guess lets one of them have its way, and one does without any (its circuit hasn't got them); where nothing is solved, one does
   * without the valves.
   */
  readonly guesses: readonly Analysis[];
}

export interface Analysis {
  readonly circuit: Circuit;
  /** Only the states that the amplifier has (`standby` only with a standby switch). */
  readonly states: readonly StateName[];
  solution(state: StateName, level: MainsLevel): Solution | undefined;
  readonly discharge: ReadonlyMap<
    MainsLevel,
    { readonly warm: ReadonlyMap<string, Discharge>; readonly out: ReadonlyMap<string, Discharge> }
  >;
  drive(level: MainsLevel): readonly DriveResult[];
  /**
   * References of the valves that have gone cold in a state: `pulled`, since their heaters are in one string with those of the output
   * valves; `standby`, since the open switch breaks the way of their heaters' current.
   */
  unlit(state: StateName): ReadonlySet<string>;
  /** As `pulled`, before those have gone cold: the supply rises unloaded. Undefined where none goes cold. */
  stillWarm(level: MainsLevel): Solution | undefined;
  /**
   * The same amplifier with pots set otherwise (resistance between wiper and bottom as a share, by reference): limits that a setting
   * moves are checked at both ends too. Kept, so that the same settings are solved once.
   */
  atSettings(settings: ReadonlyMap<string, number>): Analysis;
  /** Where something has no solution, in whatever state: how to go on with the rest. Solves every state. */
  unsolved(): Unsolvable | undefined;
  /** Everything that rules ask for, found in steps of a few milliseconds; what has been found already costs nothing. */
  everything(): InSteps<void>;
  /** Hot-switching peak by plate key (`V5.plate1`), amperes. */
  readonly hotSwitch: ReadonlyMap<string, number>;
}
