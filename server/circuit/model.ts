/**
 * The circuit: what the text means. Nets by index, parts by reference, every fact with its unit in its name and the
 * place it was written. Built once per text by `buildCircuit` and immutable afterwards. No physics here.
 */
import type { Range } from "../../grammar/tree.ts";
import type { ValveBook } from "../facts/valves/book.ts";

export interface Place {
  /** The file's key as the host gave it; the main file's is the key passed to `check`. */
  readonly file: string;
  readonly range: Range;
}

export type NetIndex = number;

export interface Net {
  readonly index: NetIndex;
  /** As written; inside a used block `prefix.name`. */
  readonly name: string;
  /** Every place that names it (declarations and uses alike), in order. */
  readonly mentions: readonly Place[];
}

/** Where a figure came from. An `estimate` and everything resting on it is told as such. */
export type Origin = "file" | "default" | "estimate";

/** One fact of a part. Its unit stands in the name of the field that holds it. */
export interface Given {
  readonly value: number;
  readonly origin: Origin;
  readonly place?: Place;
  /** Source of a default or estimate: a key into the facts, or "common practice". */
  readonly source?: string;
}

export interface PartBase {
  /** `R5`, `N.R5` inside a used block, `W#3` for an unnamed wire or bond (then `unnamed`). */
  readonly reference: string;
  readonly unnamed?: boolean;
  /** The whole statement, or the part's piece of a path. */
  readonly place: Place;
  readonly referencePlace: Place;
  /** Terminal name (`1`/`2` never; the trade's words: `a`,`b`,`plus`,`minus`,`tip`,`ring`…) -> net. Insertion order is
   *  the order in a path. Terminals left out are absent. */
  readonly terminals: ReadonlyMap<string, NetIndex>;
  /** Where each fact was written, by the field's name (`ohms`, `watts`, `volts`, `type`…); for messages and fixes. */
  readonly factPlaces: ReadonlyMap<string, Place>;
  /** Where each terminal's net was written. */
  readonly terminalPlaces: ReadonlyMap<string, Place>;
}

export type ResistorMaterial =
  | "carbon-composition"
  | "carbon-film"
  | "metal-film"
  | "metal-oxide"
  | "wirewound";

export interface Resistor extends PartBase {
  readonly kind: "resistor"; // terminals a, b
  readonly ohms: Given;
  readonly watts?: Given;
  /** The body's working voltage; the lowest published one when the file gives none (origin `default`). */
  readonly volts?: Given;
  readonly tolerance: Given; // fraction, 0.05
  readonly material?: ResistorMaterial;
}
export interface Pot extends PartBase {
  readonly kind: "pot"; // terminals top, wiper, bottom; any may be missing
  readonly ohms: Given;
  readonly watts?: Given;
  readonly volts?: Given;
  readonly tolerance: Given;
  readonly taper?: string;
  /** Resistance between wiper and bottom as a share, 0..1. */
  readonly setting: Given;
}
export interface Thermistor extends PartBase {
  readonly kind: "thermistor"; // a, b
  readonly ohms: Given; // cold
  readonly hotOhms?: Given; // `hot 2R`
  readonly amps?: Given;
  readonly tolerance: Given;
}
export type CapacitorMaterial = "film" | "paper" | "ceramic" | "mica" | "electrolytic";
export interface Capacitor extends PartBase {
  readonly kind: "capacitor"; // plus, minus when electrolytic; a, b otherwise
  readonly farads: Given;
  readonly volts?: Given;
  readonly voltsAlternating?: Given; // 275VAC
  readonly surgeVolts?: Given;
  readonly rippleAmps?: Given;
  readonly material?: CapacitorMaterial;
  readonly safetyClass?: "X1" | "X2" | "X3" | "Y1" | "Y2" | "Y3" | "Y4";
  readonly tolerance: Given; // fraction, the larger side
  readonly polarised: boolean;
}
export interface Choke extends PartBase {
  readonly kind: "choke"; // a, b
  readonly henries: Given;
  readonly amps?: Given;
  readonly ohms: Given; // dcr
  readonly tolerance: Given;
}
export interface Diode extends PartBase {
  readonly kind: "diode"; // anode, cathode
  readonly type?: string;
  readonly volts?: Given; // repetitive peak inverse
  readonly amps?: Given; // average forward
}
export interface Zener extends PartBase {
  readonly kind: "zener"; // anode, cathode
  readonly volts: Given;
  readonly watts?: Given;
  readonly ohms?: Given; // slope
  readonly tolerance: Given;
}
export interface Bridge extends PartBase {
  readonly kind: "bridge"; // ac1, ac2, plus, minus
  readonly type?: string;
  readonly volts?: Given;
  readonly amps?: Given;
}
/** One section of a valve. Electrodes: plate, grid, screen, suppressor, cathode; in a rectifier plate1, plate2, cathode. */
export interface ValveSection {
  /** `a`, `b`; empty for a valve with one section. */
  readonly name: string;
  readonly electrodes: ReadonlyMap<string, NetIndex>;
  readonly electrodePlaces: ReadonlyMap<string, Place>;
  readonly place: Place;
}
export interface Valve extends PartBase {
  readonly kind: "valve";
  /** As written. */
  readonly typeWritten: string;
  /** Key into `server/facts/valves` (`ECC83` for `12AX7`), absent for an unknown type (then a finding stands already). */
  readonly type?: string;
  readonly sections: readonly ValveSection[];
  readonly heater?: {
    readonly nets: readonly [NetIndex, NetIndex];
    readonly wiring?: "series" | "parallel";
    readonly place: Place;
  };
}
export interface Winding {
  readonly name: string;
  readonly place: Place;
  /** Start over taps to end. */
  readonly nets: readonly NetIndex[];
  readonly netPlaces: readonly Place[];
  /** Volts of each segment between neighbouring nets (length nets.length - 1), rms, as written. */
  readonly segmentVolts: readonly number[];
  readonly volts: Given; // end to end
  /** True: volts are the open-circuit ones (fact `no-load`, or no current given). */
  readonly noLoad: boolean;
  /** As written, rms, of one half when centre-tapped; for `dc` the direct current of the supply fed. */
  readonly amps?: Given;
  readonly direct: boolean;
  /** End to end. Estimated when left out. */
  readonly ohms: Given;
  /** Its volts are missing, or were refused: what stands in their place is no figure, and nothing rests on it. */
  readonly refused?: boolean;
}
export interface Transformer extends PartBase {
  readonly kind: "transformer";
  readonly voltAmperes?: Given;
  /** The first is the primary where there is one. */
  readonly primary?: Winding;
  readonly secondaries: readonly Winding[];
}
export interface OutputTransformer extends PartBase {
  readonly kind: "output-transformer";
  readonly watts?: Given;
  readonly plates?: {
    readonly place: Place;
    readonly nets: readonly NetIndex[]; // pA HT pB | pA HT | pA uA HT uB pB
    readonly netPlaces: readonly Place[];
    readonly ohms: Given; // impedance: plate to plate, or of the single-ended winding
    readonly resistance: Given; // end to end, dc
    readonly amps?: Given; // single-ended standing current
    /** Screen tap as a share of the turns of a half. */
    readonly tap?: Given;
  };
  readonly speaker?: {
    readonly place: Place;
    readonly nets: readonly NetIndex[]; // common first when tapped: { gnd s4 s8 s16 }; { spk gnd } when plain
    readonly netPlaces: readonly Place[];
    readonly ohms: readonly number[]; // impedance of each tap
    readonly resistance: Given;
  };
}
export interface Lead {
  readonly net: NetIndex;
  readonly place: Place;
  readonly metres?: Given;
  readonly colour?: string;
  readonly squareMetres?: Given;
}
export interface CordOrInlet extends PartBase {
  readonly kind: "cord" | "inlet"; // active, neutral, earth
  readonly leads: ReadonlyMap<"active" | "neutral" | "earth", Lead>;
  readonly squareMetres?: Given;
  readonly amps?: Given;
  readonly anchored?: boolean;
}
export interface Fuse extends PartBase {
  readonly kind: "fuse"; // tip, ring
  readonly amps: Given;
  /** IEC 60127 letter: FF, F, M, T, TT. */
  readonly character?: string;
  readonly volts?: Given;
  readonly breaking?: "L" | "H";
}
export interface SwitchPole {
  readonly name: string; // `1`, `2`; empty for one pole
  readonly common?: NetIndex;
  /** Throws in order: on/off, or 1, 2, 3… -> net; a throw not wired is absent. */
  readonly throws: ReadonlyMap<string, NetIndex>;
}
export interface Switch extends PartBase {
  readonly kind: "switch";
  readonly duty: "mains" | "standby" | string;
  readonly poles: readonly SwitchPole[];
  /** Positions that it can stand in: `on`,`off` (a single throw opens when off), `1`,`2`…, with `centre` where it has one. */
  readonly positions: readonly string[];
  readonly volts?: Given;
  readonly voltsDirect?: Given;
  readonly amps?: Given;
}
export interface Bond extends PartBase {
  readonly kind: "bond"; // a, b
  readonly fixing?: "own-fixing" | "shared-fixing";
}
export interface Wire extends PartBase {
  readonly kind: "wire"; // a, b
  readonly squareMetres?: Given;
  readonly metres?: Given;
  readonly colour?: string;
  readonly volts?: Given;
  readonly cloth: boolean;
}
export interface Jack extends PartBase {
  readonly kind: "jack"; // tip, ring, sleeve, tip-break, ring-break, sleeve-break
  readonly insulated: boolean;
}
export interface Lamp extends PartBase {
  readonly kind: "lamp"; // a, b
  readonly volts?: Given;
  readonly amps?: Given;
  readonly watts?: Given;
  /** neon lamps conduct only above their striking voltage */
  readonly neon: boolean;
}
export interface Speaker extends PartBase {
  readonly kind: "speaker"; // a, b
  readonly ohms: Given;
  readonly watts?: Given;
}
export interface Source extends PartBase {
  readonly kind: "source"; // plus, minus
  readonly volts: Given;
  readonly ohms: Given; // 0 when left out
}
export interface TerminalStrip extends PartBase {
  readonly kind: "terminal-strip";
}

export type Part =
  | Resistor
  | Pot
  | Thermistor
  | Capacitor
  | Choke
  | Diode
  | Zener
  | Bridge
  | Valve
  | Transformer
  | OutputTransformer
  | CordOrInlet
  | Fuse
  | Switch
  | Bond
  | Wire
  | Jack
  | Lamp
  | Speaker
  | Source
  | TerminalStrip;
export type PartKind = Part["kind"];

export type Region = "AU" | "NZ" | "UK" | "EU" | "CH" | "US" | "CA" | "JP";
export type MainsLevel = "low" | "nominal" | "high";

export interface MainsSupply {
  readonly given: boolean;
  readonly place?: Place;
  readonly hertz: number;
  readonly region?: Region;
  /** rms volts at each level: region's tolerance, or `assume mains`. */
  readonly volts: Readonly<Record<MainsLevel, number>>;
  readonly toleranceSource: string;
}

export interface Assumptions {
  readonly ambientCelsius: Given;
  /** Part of the rating that practice allows, by family (`resistor` -> 0.5); only those written in the file. */
  readonly derate: ReadonlyMap<string, Given>;
  readonly valveSpread: Given; // fraction
  readonly outlet?: "polarised" | "unpolarised";
  readonly other: ReadonlyMap<string, Given>;
}

/** What a `measured` line is held against. */
export interface Measurement {
  readonly place: Place;
  readonly target:
    | { readonly kind: "net"; readonly net: NetIndex; readonly name: string }
    | { readonly kind: "across"; readonly reference: string }
    | { readonly kind: "through"; readonly reference: string }
    | {
        readonly kind: "electrode";
        readonly reference: string;
        readonly electrode: string;
        readonly net: NetIndex;
      }
    | { readonly kind: "earth-continuity" | "insulation" | "earth-leakage" };
  /** Volts, amperes or ohms by `unit`. */
  readonly value: number;
  readonly unit: "volt" | "ampere" | "ohm";
  readonly valuePlace: Place;
  /** Mains volts the reading was taken at; test volts of an insulation reading. */
  readonly atMainsVolts?: number;
  readonly atTestVolts?: number;
}

export interface Waiver {
  readonly place: Place;
  readonly rule: string;
  readonly on?: string;
  readonly reason?: string;
  /** ISO date. */
  readonly until?: string;
}

/** What building the circuit found wrong. `rule` is one of the circuit family. */
export interface CircuitProblem {
  readonly rule: string;
  readonly message: string;
  readonly place: Place;
  readonly on: readonly string[];
  readonly related?: readonly { readonly message: string; readonly place: Place; readonly on: string }[];
  readonly fix?: { readonly title: string; readonly place: Place; readonly text: string };
}

export interface Circuit {
  /** The valve types that it was built with; the published ones when absent. */
  readonly book?: ValveBook;
  readonly name?: string;
  readonly ampPlace?: Place;
  readonly mains: MainsSupply;
  readonly assumptions: Assumptions;
  readonly nets: readonly Net[];
  readonly netByName: ReadonlyMap<string, NetIndex>;
  /** `gnd` and `chassis`, where the file names them. */
  readonly ground?: NetIndex;
  readonly chassis?: NetIndex;
  /** Nets declared by `metal`. */
  readonly metals: readonly { readonly net: NetIndex; readonly place: Place }[];
  readonly parts: readonly Part[];
  readonly partByReference: ReadonlyMap<string, Part>;
  readonly measurements: readonly Measurement[];
  readonly waivers: readonly Waiver[];
  readonly problems: readonly CircuitProblem[];
  /** Files read, main first. */
  readonly files: readonly string[];
}
