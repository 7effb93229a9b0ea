/**
 * What a fit is held to: each published figure as one residual, the natural logarithm of computed over published
 * divided by how closely it is wanted. Figures held out, set aside, or with too little beside them give none.
 */
import type { PointFile } from "../../../facts/valves/file.ts";
import type { LawParameters } from "../../../facts/valves/fit-file.ts";
import type { SectionLaw } from "../../device.ts";
import { solveDense } from "../../linear/dense.ts";
import { operate } from "./operation.ts";

export type Quantity =
  | "plate current"
  | "screen current"
  | "cathode current"
  | "transconductance"
  | "plate resistance"
  | "amplification"
  | "stage gain"
  | "zero-signal plate current"
  | "zero-signal screen current"
  | "maximum-signal plate current"
  | "maximum-signal screen current"
  | "power";

/** One published figure and how to compute it. Amperes, siemens, ohms, watts, or a plain ratio. */
export interface Figure {
  readonly row: PointFile;
  /** Index of the row in its file. */
  readonly index: number;
  readonly quantity: Quantity;
  readonly published: number;
  /** Relative closeness wanted: the weight of the residual. */
  readonly closeness: number;
  compute(law: SectionLaw): number;
}

/** Relative closeness that a fit aims at, by quantity. Tighter than the bounds that the tests check. */
const closeness: Record<Quantity, number> = {
  "plate current": 0.02,
  "cathode current": 0.03,
  "screen current": 0.1,
  transconductance: 0.04,
  "plate resistance": 0.07,
  amplification: 0.05,
  "stage gain": 0.04,
  "zero-signal plate current": 0.03,
  "zero-signal screen current": 0.1,
  "maximum-signal plate current": 0.06,
  "maximum-signal screen current": 0.15,
  power: 0.06,
};

/** A cut-off current of ten microamperes is a name for "none": its logarithm is wanted within a factor of two. */
const CUTOFF_CLOSENESS = 0.7;

/** The last answer, kept: several figures of a row ask for the same solution. */
function once<T>(compute: (law: SectionLaw) => T): (law: SectionLaw) => T {
  let last: SectionLaw | undefined;
  let answer: T;
  return (law) => {
    if (law !== last) {
      last = law;
      answer = compute(law);
    }
    return answer;
  };
}

export function figuresOf(points: readonly PointFile[], section: number): Figure[] {
  const figures: Figure[] = [];
  points.forEach((row, index) => {
    if (row.section !== undefined && row.section !== section) return;
    if (row.set_aside !== undefined) return;
    const add = (
      quantity: Quantity,
      published: number | undefined,
      compute: (law: SectionLaw) => number,
      close?: number,
    ) => {
      if (published === undefined || !(published > 0)) return;
      figures.push({ row, index, quantity, published, closeness: close ?? closeness[quantity], compute });
    };
    const milliamps = (value?: number) => (value === undefined ? undefined : value / 1000);
    const tied = row.connection === "triode-strapped" || row.connection === "tied";

    if (row.mode === "resistance-coupled") {
      if (
        row.plate_supply_V === undefined ||
        row.plate_load_ohm === undefined ||
        row.cathode_ohm === undefined
      )
        return;
      const stage = once((law) => coupledStage(row, law));
      add("plate current", milliamps(row.plate_mA), (law) => stage(law).plate);
      add("cathode current", milliamps(row.cathode_mA), (law) => stage(law).cathode);
      add("stage gain", row.stage_gain, (law) => stage(law).gain);
      return;
    }
    if (row.mode === "push-pull" || (row.mode === "single-ended" && row.plate_mA_max_signal !== undefined)) {
      if (row.class === "AB2") return;
      const operation = once((law) => operate(row, law));
      const from = (pick: (o: NonNullable<ReturnType<typeof operate>>) => number) => (law: SectionLaw) => {
        const o = operation(law);
        return o ? pick(o) : Number.NaN;
      };
      if (row.load_ohm === undefined || row.grid_V === undefined) return;
      if (row.plate_V === undefined && row.plate_supply_V === undefined) return;
      add(
        "zero-signal plate current",
        milliamps(row.plate_mA),
        from((o) => o.plateAmps),
      );
      add(
        "zero-signal screen current",
        milliamps(row.screen_mA),
        from((o) => o.screenAmps),
      );
      add(
        "maximum-signal plate current",
        milliamps(row.plate_mA_max_signal),
        from((o) => o.plateAmpsMax),
      );
      add(
        "maximum-signal screen current",
        milliamps(row.screen_mA_max_signal),
        from((o) => o.screenAmpsMax),
      );
      add(
        "power",
        row.power_W,
        from((o) => o.watts),
      );
      addSmallSignal();
      return;
    }
    if (row.plate_V === undefined || row.grid_V === undefined) return;
    const cut = row.mode === "cutoff" ? CUTOFF_CLOSENESS : undefined;
    const sum = tied ? 1 : 0;
    const { vg, vs, vp } = electrodes(row);
    add(
      "plate current",
      milliamps(row.plate_mA),
      (law) => at(law, vg, vs, vp)[0] + sum * at(law, vg, vs, vp)[1],
      cut,
    );
    add("screen current", milliamps(row.screen_mA), (law) => at(law, vg, vs, vp)[1]);
    addSmallSignal();

    function addSmallSignal(): void {
      if (row.plate_V === undefined || row.grid_V === undefined) return;
      const e = electrodes(row);
      const small = (law: SectionLaw) => smallSignal(law, e.vg, e.vs, e.vp, tied);
      add(
        "transconductance",
        row.gm_umho === undefined ? undefined : row.gm_umho * 1e-6,
        (law) => small(law).gm,
      );
      add("plate resistance", row.rp_ohm, (law) => 1 / small(law).gp);
      if (row.rp_ohm === undefined || row.gm_umho === undefined) {
        add("amplification", row.mu, (law) => small(law).gm / small(law).gp);
      }
    }
  });
  return figures;
}

/** Volts to the cathode; a supply's are less by what the cathode resistor takes. */
function electrodes(row: PointFile): { vg: number; vs: number; vp: number } {
  const vg = row.grid_V as number;
  const lost = row.V_basis === "supply" ? -vg : 0;
  const vp = (row.plate_V as number) - lost;
  const tied = row.connection === "triode-strapped" || row.connection === "tied";
  return { vg, vp, vs: tied ? vp : (row.screen_V ?? 0) - lost };
}

const scratch = new Float64Array(12);
function at(law: SectionLaw, vg: number, vs: number, vp: number): Float64Array {
  law.evaluate(vg, vs, vp, scratch);
  return scratch;
}

function smallSignal(law: SectionLaw, vg: number, vs: number, vp: number, tied: boolean) {
  const o = at(law, vg, vs, vp);
  return tied ? { gm: o[3] + o[6], gp: o[4] + o[5] + o[7] + o[8] } : { gm: o[3], gp: o[5] };
}

/**
 * A self-biased resistance-coupled stage, cathode (and screen) bypassed: the operating point by Newton on cathode, plate
 * and screen volts, the gain by the slopes into plate load and next grid leak side by side.
 */
export function coupledStage(
  row: Pick<
    PointFile,
    "plate_supply_V" | "plate_load_ohm" | "cathode_ohm" | "screen_dropper_ohm" | "screen_V" | "next_grid_ohm"
  >,
  law: SectionLaw,
): { plate: number; cathode: number; gain: number; plateVolts: number } {
  const supply = row.plate_supply_V as number;
  const load = row.plate_load_ohm as number;
  const rk = row.cathode_ohm as number;
  const dropper = row.screen_dropper_ohm;
  const o = new Float64Array(12);
  // Unknowns: cathode, plate and screen volts from common. A fixed screen is one behind a millionth of an ohm.
  const screenSupply = dropper === undefined ? (row.screen_V ?? 0) : supply;
  const screenSiemens = 1 / (dropper ?? 1e-6);
  const x = Float64Array.of(1.5, 0.6 * supply, dropper === undefined ? screenSupply : 0.4 * supply);
  const f = new Float64Array(3);
  const jac = new Float64Array(9);
  for (let iteration = 0; iteration < 200; iteration++) {
    const [vk, vp, vs] = x;
    law.evaluate(-vk, vs - vk, vp - vk, o);
    f[0] = o[0] + o[1] - vk / rk;
    f[1] = (supply - vp) / load - o[0];
    f[2] = (screenSupply - vs) * screenSiemens - o[1];
    const plateByK = -(o[3] + o[4] + o[5]);
    const screenByK = -(o[6] + o[7] + o[8]);
    jac.set([plateByK + screenByK - 1 / rk, o[5] + o[8], o[4] + o[7]], 0);
    jac.set([-plateByK, -1 / load - o[5], -o[4]], 3);
    jac.set([-screenByK, -o[8], -screenSiemens - o[7]], 6);
    if (!solveDense(jac, f, 3)) break;
    const most = Math.max(Math.abs(f[0]) / 1.5, Math.abs(f[1]) / 30, Math.abs(f[2]) / 30);
    const factor = most > 1 ? 1 / most : 1;
    for (let i = 0; i < 3; i++) x[i] -= factor * f[i];
    if (most < 1e-10) break;
  }
  const [vk, vp, vs] = x;
  law.evaluate(-vk, vs - vk, vp - vk, o);
  const next = row.next_grid_ohm ?? Infinity;
  const gain = o[3] / (o[5] + 1 / load + 1 / next);
  return { plate: o[0], cathode: o[0] + o[1], gain, plateVolts: vp - vk };
}

/** Logarithm of computed over published; a large number where the law gives none. */
export function misfit(figure: Figure, law: SectionLaw): number {
  const value = figure.compute(law);
  return value > 0 && Number.isFinite(value) ? Math.log(value / figure.published) : 5;
}

export interface Residual {
  readonly index: number;
  readonly quantity: Quantity;
  readonly published: number;
  readonly computed: number;
  /** computed / published - 1 */
  readonly off: number;
}

export function residualOf(figure: Figure, law: SectionLaw): Residual {
  const computed = figure.compute(law);
  const { index, quantity, published } = figure;
  return { index, quantity, published, computed, off: computed / published - 1 };
}

export type { LawParameters };
