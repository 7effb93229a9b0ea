/** The check of a valve file, for the tests and for a user's own files: unknown keys and wrong kinds are told by name. */
import { z } from "zod";

const positive = z.number().positive();
const sourced = {
  source: z.string().min(1),
  evidence: z.enum(["seen", "memory"]),
  confidence: z.enum(["high", "medium", "low"]).optional(),
  note: z.string().optional(),
  also_seen: z.array(z.string()).optional(),
};
const chart = z.array(z.tuple([positive, positive])).optional();

const numbers = (keys: readonly string[]) =>
  Object.fromEntries(keys.map((key) => [key, z.number().nonnegative().optional()]));

const limitKeys = [
  "plate_V",
  "plate_W",
  "plate_W_both_sections",
  "plate_V_peak",
  "plate_V_cold",
  "screen_V",
  "screen_V_cold",
  "screen_W",
  "screen_W_peak_signal",
  "cathode_mA",
  "heater_negative_V",
  "heater_positive_V",
  "heater_positive_dc_V",
  "grid_ohm_fixed_bias",
  "grid_ohm_cathode_bias",
  "grid_ohm_below_W",
  "grid_ohm_fixed_bias_below",
  "grid_ohm_cathode_bias_below",
  "grid_V_negative_max",
  "grid_V_positive_max",
  "plate_screen_tied_V",
  "plate_plus_screen_W",
  "piv_V",
  "dc_output_mA",
  "peak_plate_mA_per_plate",
  "hot_switching_A_per_plate",
  "rms_V_per_plate_capacitor_input",
  "rms_V_per_plate_choke_input",
  "reservoir_uF_max",
  "choke_H_min",
  "vrrm_V",
  "vrms_V",
  "vdc_V",
  "if_av_A",
  "ifsm_A",
  "vf_V",
  "vf_at_A",
  "ir_uA_25C",
  "ir_uA_hot",
  "trr_ns",
  "tj_max_C",
  "capacitive_load_derate_pct",
] as const;

export const limitsSchema = z.strictObject({
  for: z.array(z.string()).optional(),
  section: z.union([z.literal(1), z.literal(2)]).optional(),
  rating_system: z.enum(["design-centre", "design-maximum", "absolute"]).optional(),
  per: z.enum(["section", "valve"]).optional(),
  ...numbers(limitKeys),
  dc_output_by_rms: z.strictObject({ capacitor: chart, choke: chart }).optional(),
  if_av_condition: z.string().optional(),
  ifsm_condition: z.string().optional(),
  ...sourced,
});

const pointKeys = [
  "plate_V",
  "screen_V",
  "plate_mA",
  "screen_mA",
  "cathode_mA",
  "gm_umho",
  "rp_ohm",
  "mu",
  "mu_g2g1",
  "plate_supply_V",
  "screen_supply_V",
  "plate_load_ohm",
  "cathode_ohm",
  "screen_dropper_ohm",
  "screen_tap_pct",
  "grid_leak_ohm",
  "next_grid_ohm",
  "stage_gain",
  "plate_mA_max_signal",
  "screen_mA_max_signal",
  "load_ohm",
  "power_W",
  "thd_pct",
] as const;

export const pointSchema = z.strictObject({
  mode: z.enum([
    "characteristic",
    "cutoff",
    "curve-reading",
    "resistance-coupled",
    "single-ended",
    "push-pull",
  ]),
  connection: z.enum(["pentode", "beam", "triode-strapped", "tied", "ultra-linear"]).optional(),
  section: z.union([z.literal(1), z.literal(2)]).optional(),
  held_out: z.boolean().optional(),
  set_aside: z.string().min(10).optional(),
  ...numbers(pointKeys),
  grid_V: z.number().optional(),
  grid3_V: z.number().optional(),
  V_basis: z.literal("supply").optional(),
  derived: z.array(z.string()).optional(),
  cathode_ohm_shared_by: z.union([z.literal(1), z.literal(2)]).optional(),
  class: z.enum(["A1", "AB1", "AB2", "B"]).optional(),
  current_basis: z.literal("both valves").optional(),
  ...sourced,
});

export const lawSchema = z.strictObject({
  k_mA_per_V1p5: positive,
  mu: positive,
  plate_share: z.number().gt(0).max(1).optional(),
});

const equivalentsSchema = z.array(z.strictObject({ name: z.string().min(1), note: z.string().optional() }));

const heaterSchema = z.strictObject({
  arrangements: z
    .array(
      z.strictObject({
        name: z.enum(["single", "series", "parallel"]),
        volts: positive,
        amps: positive,
        pins: z.string().optional(),
      }),
    )
    .min(1),
  ...sourced,
});

const typeSchema = z.string().regex(/^[A-Za-z0-9][A-Za-z0-9/+_-]*$/, "letters and digits, as on the valve");

const pinsSchema = z.partialRecord(
  z.enum([
    "plate",
    "grid",
    "screen",
    "suppressor",
    "cathode",
    "plate1",
    "plate2",
    "anode",
    "diode1",
    "diode2",
  ]),
  z.string(),
);

export const valveSchema = z.strictObject({
  type: typeSchema,
  kind: z.enum(["triode", "twin-triode", "triode-pentode", "pentode", "beam-tetrode", "rectifier", "diode"]),
  equivalents: equivalentsSchema,
  base: z.string().optional(),
  heating: z.enum(["direct", "indirect"]).optional(),
  heater: heaterSchema.optional(),
  other_heaters: z
    .array(
      z.strictObject({
        type: typeSchema,
        equivalents: equivalentsSchema.optional(),
        heater: heaterSchema,
        limits: limitsSchema.optional(),
      }),
    )
    .optional(),
  other_bases: z
    .array(
      z.strictObject({
        type: typeSchema,
        equivalents: equivalentsSchema.optional(),
        base: z.string().min(1),
        pins: z.array(pinsSchema).optional(),
        other_pins: z.record(z.string(), z.string()).optional(),
        pinout_evidence: z.strictObject(sourced).optional(),
        heater: heaterSchema.optional(),
        limits: limitsSchema.optional(),
      }),
    )
    .optional(),
  other_voltages: z.array(z.strictObject({ type: typeSchema, vrrm_V: positive })).optional(),
  other_pins: z.record(z.string(), z.string()).optional(),
  sections: z
    .array(
      z.strictObject({
        name: z.enum(["", "a", "b", "triode", "pentode"]),
        pins: pinsSchema,
        note: z.string().optional(),
        like: z.string().optional(),
        limits: limitsSchema.optional(),
        law: lawSchema.optional(),
      }),
    )
    .min(1),
  limits: limitsSchema,
  pinout_note: z.string().optional(),
  pinout_evidence: z.strictObject(sourced).optional(),
  limits_other: z.array(limitsSchema).optional(),
  points: z.array(pointSchema).optional(),
  law: lawSchema.optional(),
  zero_bias: z.strictObject(sourced).optional(),
  min_supply_impedance: z
    .array(z.strictObject({ rms_V_per_plate: positive, ohm_per_plate: positive, ...sourced }))
    .optional(),
  drop: z.array(z.strictObject({ mA_per_plate: positive, drop_V: positive, ...sourced })).optional(),
  operations: z
    .array(
      z.strictObject({
        input: z.enum(["capacitor", "choke", "unstated"]),
        rms_V_per_plate_no_load: positive.optional(),
        reservoir_uF: positive.optional(),
        supply_impedance_ohm_per_plate: positive.optional(),
        choke_H: positive.optional(),
        dc_mA: positive,
        dc_output_V: positive,
        half_load: z.strictObject({ dc_mA: positive, dc_output_V: positive }).optional(),
        ...sourced,
      }),
    )
    .optional(),
  note: z.string().optional(),
});
