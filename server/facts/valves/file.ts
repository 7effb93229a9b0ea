/**
 * The shape of a valve's data file. Figures stand as the sheet prints them, in the unit that the key ends in
 * (`plate_mA`, `gm_umho`), so that a file can be held beside the sheet; `index.ts` turns them into SI.
 * Checked by `schema.ts` in the tests and for a user's own files; not at start-up.
 */

/** Where a figure comes from: `seen` on a page, or carried from `memory` of the named publication. */
export interface Sourced {
  /** Key into `sources.json`. */
  readonly source: string;
  readonly evidence: "seen" | "memory";
  readonly confidence?: "high" | "medium" | "low";
  readonly note?: string;
  /** Keys that were also confirmed on a page. */
  readonly also_seen?: readonly string[];
}

export type ValveKind =
  | "triode"
  | "twin-triode"
  | "triode-pentode"
  | "pentode"
  | "beam-tetrode"
  | "rectifier"
  | "diode";

export type RatingSystem = "design-centre" | "design-maximum" | "absolute";

export interface LimitsFile extends Sourced {
  /** Equivalents whose own limits these are (only in `limits_other`). */
  readonly for?: readonly string[];
  /** 1 or 2, in the order of the sections: of that one alone (only in `limits_other`, beside `for`). */
  readonly section?: 1 | 2;
  readonly rating_system?: RatingSystem;
  readonly per?: "section" | "valve";
  readonly plate_V?: number;
  readonly plate_W?: number;
  readonly plate_W_both_sections?: number;
  readonly plate_V_peak?: number;
  readonly plate_V_cold?: number;
  readonly screen_V?: number;
  readonly screen_V_cold?: number;
  readonly screen_W?: number;
  readonly screen_W_peak_signal?: number;
  readonly cathode_mA?: number;
  readonly heater_negative_V?: number;
  readonly heater_positive_V?: number;
  readonly heater_positive_dc_V?: number;
  readonly grid_ohm_fixed_bias?: number;
  readonly grid_ohm_cathode_bias?: number;
  /** Plate and screen together dissipating less than so many watts, the grid may look into more. */
  readonly grid_ohm_below_W?: number;
  readonly grid_ohm_fixed_bias_below?: number;
  readonly grid_ohm_cathode_bias_below?: number;
  readonly grid_V_negative_max?: number;
  readonly grid_V_positive_max?: number;
  readonly plate_screen_tied_V?: number;
  readonly plate_plus_screen_W?: number;
  readonly piv_V?: number;
  readonly dc_output_mA?: number;
  readonly peak_plate_mA_per_plate?: number;
  readonly hot_switching_A_per_plate?: number;
  readonly rms_V_per_plate_capacitor_input?: number;
  readonly rms_V_per_plate_choke_input?: number;
  readonly reservoir_uF_max?: number;
  readonly choke_H_min?: number;
  readonly dc_output_by_rms?: {
    readonly capacitor?: readonly (readonly [number, number])[];
    readonly choke?: readonly (readonly [number, number])[];
  };
  readonly vrrm_V?: number;
  readonly vrms_V?: number;
  readonly vdc_V?: number;
  readonly if_av_A?: number;
  readonly if_av_condition?: string;
  readonly ifsm_A?: number;
  readonly ifsm_condition?: string;
  readonly vf_V?: number;
  readonly vf_at_A?: number;
  readonly ir_uA_25C?: number;
  readonly ir_uA_hot?: number;
  readonly trr_ns?: number;
  readonly tj_max_C?: number;
  readonly capacitive_load_derate_pct?: number;
}

/** One published point, operation row or resistance-coupled row. */
export interface PointFile extends Sourced {
  readonly mode:
    | "characteristic"
    | "cutoff"
    | "curve-reading"
    | "resistance-coupled"
    | "single-ended"
    | "push-pull";
  readonly connection?: "pentode" | "beam" | "triode-strapped" | "tied" | "ultra-linear";
  /** 1 or 2, in the order of the sections, where they differ: of a triode-pentode 1 is the triode. */
  readonly section?: 1 | 2;
  /** Kept out of the fit, and checked. */
  readonly held_out?: boolean;
  /** Not held against the model, with the reason. */
  readonly set_aside?: string;
  readonly plate_V?: number;
  readonly screen_V?: number;
  readonly grid_V?: number;
  readonly grid3_V?: number;
  readonly plate_mA?: number;
  readonly screen_mA?: number;
  readonly cathode_mA?: number;
  readonly gm_umho?: number;
  readonly rp_ohm?: number;
  readonly mu?: number;
  readonly mu_g2g1?: number;
  readonly V_basis?: "supply";
  /** Keys worked out by Ohm's law from the printed ones of the same row. */
  readonly derived?: readonly string[];
  readonly plate_supply_V?: number;
  readonly screen_supply_V?: number;
  readonly plate_load_ohm?: number;
  readonly cathode_ohm?: number;
  readonly cathode_ohm_shared_by?: 1 | 2;
  readonly screen_dropper_ohm?: number;
  /** Ultra-linear: the screen's part of a half primary. */
  readonly screen_tap_pct?: number;
  readonly grid_leak_ohm?: number;
  readonly next_grid_ohm?: number;
  readonly stage_gain?: number;
  readonly class?: "A1" | "AB1" | "AB2" | "B";
  readonly current_basis?: "both valves";
  readonly plate_mA_max_signal?: number;
  readonly screen_mA_max_signal?: number;
  readonly load_ohm?: number;
  readonly power_W?: number;
  readonly thd_pct?: number;
}

export interface RectifierOperationFile extends Sourced {
  readonly input: "capacitor" | "choke" | "unstated";
  readonly rms_V_per_plate_no_load?: number;
  readonly reservoir_uF?: number;
  readonly supply_impedance_ohm_per_plate?: number;
  readonly choke_H?: number;
  readonly dc_mA: number;
  readonly dc_output_V: number;
  readonly half_load?: { readonly dc_mA: number; readonly dc_output_V: number };
}

export type HeaterFile = Sourced & {
  readonly arrangements: readonly {
    readonly name: string;
    readonly volts: number;
    readonly amps: number;
    readonly pins?: string;
  }[];
};

/** The three-halves law itself, instead of points: `Ia = k*(Vgk + Vak/mu)^1.5`, zero below; milliamperes, volts. */
export interface LawFile {
  readonly k_mA_per_V1p5: number;
  /** Triode: of the plate. Pentode: of the screen. */
  readonly mu: number;
  /** Pentode: the plate's part of the cathode current, 0..1. */
  readonly plate_share?: number;
}

export interface ValveFile {
  readonly type: string;
  readonly kind: ValveKind;
  /** Other names. A note says where it is not the same valve in every respect. */
  readonly equivalents: readonly { readonly name: string; readonly note?: string }[];
  readonly base?: string;
  readonly heating?: "direct" | "indirect";
  readonly heater?: HeaterFile;
  /** Types that differ from this one in their heater (PCL82 beside ECL82) or what they are rated for: each a type of its own. */
  readonly other_heaters?: readonly {
    readonly type: string;
    readonly equivalents?: readonly { readonly name: string; readonly note?: string }[];
    readonly heater: HeaterFile;
    /** In place of the type's, where the sheet of this one prints others. */
    readonly limits?: LimitsFile;
  }[];
  /** Types that differ from this one in their base (5Z3 beside 5U4G): each a type of its own. */
  readonly other_bases?: readonly {
    readonly type: string;
    readonly equivalents?: readonly { readonly name: string; readonly note?: string }[];
    readonly base: string;
    /** In the order of the sections; absent where they are not held. */
    readonly pins?: readonly Readonly<Record<string, string>>[];
    readonly other_pins?: Readonly<Record<string, string>>;
    readonly pinout_evidence?: Sourced;
    /** In place of the type's, where it differs too. */
    readonly heater?: HeaterFile;
    readonly limits?: LimitsFile;
  }[];
  /** Diodes of the same sheet that differ from this one in their inverse volts alone (1N4004 beside 1N4007). */
  readonly other_voltages?: readonly { readonly type: string; readonly vrrm_V: number }[];
  /** Of such a type: the one whose law it has. */
  readonly law_of?: string;
  /** Pins that are no electrode of a section. */
  readonly other_pins?: Readonly<Record<string, string>>;
  readonly sections: readonly {
    /** `a`, `b` in a twin; `triode`, `pentode`; empty for one section. The first is the sheet's section 1 in `points`. */
    readonly name: string;
    /** Electrode -> pin (`2+7` where two pins carry it). Detector diodes on the same cathode are `diode1`, `diode2`. */
    readonly pins: Readonly<Record<string, string>>;
    readonly note?: string;
    /** The type whose section this is, by the sheet's own word: its law is taken. */
    readonly like?: string;
    /** Of the section, in place of the valve's. */
    readonly limits?: LimitsFile;
    readonly law?: LawFile;
  }[];
  /** Of every section that has none of its own; `plate_W_both_sections` holds for the bottle. */
  readonly limits: LimitsFile;
  readonly pinout_note?: string;
  readonly pinout_evidence?: Sourced;
  readonly limits_other?: readonly LimitsFile[];
  readonly points?: readonly PointFile[];
  readonly law?: LawFile;
  /** Made for push-pull class B with its grids at the cathode: no bias is missing there. */
  readonly zero_bias?: Sourced;
  /** Least source impedance in series with each plate, by the volts of half the secondary. */
  readonly min_supply_impedance?: readonly (Sourced & {
    readonly rms_V_per_plate: number;
    readonly ohm_per_plate: number;
  })[];
  /** Published voltage drop; the first is the one that the law is drawn through. */
  readonly drop?: readonly (Sourced & { readonly mA_per_plate: number; readonly drop_V: number })[];
  readonly operations?: readonly RectifierOperationFile[];
  readonly note?: string;
}
