/**
 * How an island's volts and readings move with the values inside it: the parts of the bands that come from windings, reservoirs,
 * rectifiers and resistors in the supply.
 */
import type { DeviceParameter } from "../device.ts";
import { doubles } from "../linear/slabs.ts";
import type { ReadingName } from "../results.ts";
import { Adjoint, type Extended, extend, type Value, type Variation } from "./adjoint.ts";
import type { Body } from "./index.ts";
import type { Placed } from "./network.ts";
import type { Observed } from "./readings.ts";
import type { CycleRecord } from "./record.ts";
import type { Recipe, Wave } from "./waves.ts";

/** The toleranced values of an island: one for each part, a winding or a rectifier valve being one whatever its segments or plates. */
function valuesOf(body: Body): Value[] {
  const found = new Map<string, { reference: string; tolerance: number; places: Placed[] }>();
  const add = (key: string, reference: string, tolerance: number, place: Placed) => {
    if (!(tolerance > 0)) return;
    const own = found.get(key);
    if (own) own.places.push(place);
    else found.set(key, { reference, tolerance, places: [place] });
  };
  for (const place of body.network.placed) {
    const { element } = place;
    switch (element.kind) {
      case "resistance":
        if (element.as === "resistor") add(element.reference, element.reference, element.tolerance, place);
        break;
      case "capacitor":
        if (place.as === "capacitor") add(element.reference, element.reference, element.tolerance, place);
        break;
      case "choke":
        add(element.reference, element.reference, element.tolerance, place);
        break;
      case "winding":
        add(element.windingKey, element.windingKey, element.spread, place);
        break;
      case "rectifier":
        if (place.as === "port" && !element.zener)
          add(element.reference, element.reference, element.spread, place);
        break;
      default:
        break;
    }
  }
  return [...found.values()];
}

/** Made once for a state's island, used at every level. */
export function extendedOf(body: Body): Extended {
  body.extended ??= extend(body.network, valuesOf(body));
  return body.extended;
}

/** At one solution. */
export class Sensitivity {
  private readonly adjoint: Adjoint;
  private readonly averages: (Variation | undefined)[] = [];
  /** Of averages: those of a reservoir are its net's, which the network around asks for too. */
  private readonly means = new Map<Wave, Variation>();
  private readonly kept = new Map<Placed, Float64Array>();

  constructor(
    private readonly body: Body,
    private readonly observed: Observed,
    private readonly record: CycleRecord,
    private readonly drives: Float64Array,
  ) {
    this.adjoint = new Adjoint(extendedOf(body), body.cycle, record, drives.length, (place) =>
      this.carried(place),
    );
  }

  /** Amperes of a branch, capacitor or port at each stage; the rate of a choke's current; what a rectifier's spread changes. */
  private carried(place: Placed): Float64Array {
    let values = this.kept.get(place);
    if (values) return values;
    const { record, drives } = this;
    const { multiport, ports } = this.body.network;
    const { nx, np, nu, A, B, E } = multiport;
    const { count } = record;
    values = doubles(count);
    this.kept.set(place, values);
    if (place.as === "port") {
      const { element } = place;
      const law2 = new Float64Array(2);
      for (let n = 0; n < count; n++) {
        const at = n * np + place.index;
        if (element.kind === "rectifier" && element.valve) values[n] = record.i[at];
        else if (record.v[at] > ports[place.index].deep) {
          // A junction's spread is in its volts.
          ports[place.index].law.evaluate(record.v[at], law2);
          values[n] = -law2[1] * record.v[at];
        }
      }
      return values;
    }
    let row: { x: Float64Array; u: Float64Array; i: Float64Array } | undefined;
    if (place.as === "branch") row = multiport.current(place.branch);
    else if (place.as === "capacitor") row = multiport.capacitorCurrent(place.index);
    else if (place.as === "choke") {
      const r = multiport.chargeStates + place.index;
      row = {
        x: A.subarray(r * nx, (r + 1) * nx),
        u: B.subarray(r * nu, (r + 1) * nu),
        i: E.subarray(r * np, (r + 1) * np),
      };
    }
    if (!row) return values;
    for (let n = 0; n < count; n++) {
      let s = row.u[0] * record.mains[n] + row.u[1];
      for (let d = 0; d < drives.length; d++) s += row.u[2 + d] * drives[d];
      for (let k = 0; k < nx; k++) s += row.x[k] * record.x[n * nx + k];
      for (let k = 0; k < np; k++) s += row.i[k] * record.i[n * np + k];
      values[n] = s;
    }
    return values;
  }

  /** Of a boundary node's average, by its place. */
  average(k: number): Variation {
    let variation = this.averages[k];
    if (!variation) {
      variation = this.of(this.observed.nodeRecipe(this.body.plan.boundary[k].node));
      this.averages[k] = variation;
    }
    return variation;
  }

  of(recipe: Recipe): Variation {
    if (recipe.kind !== "mean" || recipe.factor !== 1) return this.found(recipe);
    const { wave } = recipe;
    let variation = this.means.get(wave);
    if (!variation) {
      variation = this.found(recipe);
      this.means.set(wave, variation);
    }
    return variation;
  }

  private found(recipe: Recipe): Variation {
    return this.adjoint.variation(this.observed.terms(recipe));
  }

  reading(key: string, reading: ReadingName): Variation | undefined {
    const recipe = this.observed.recipe(key, reading);
    return recipe && this.of(recipe);
  }
}

/**
 * @param terminals how many of the device's unknowns are terminal volts
 * @param at        the sensitivities at the device's unknowns
 */
export function islandParameters(
  body: Body,
  terminals: number,
  at: (x: Float64Array) => Sensitivity,
): readonly DeviceParameter[] {
  const drives = body.plan.boundary.length;
  return extendedOf(body).values.map(({ reference, tolerance }, v) => ({
    reference,
    tolerance,
    derivative(x, out) {
      const sensitivity = at(x);
      out.fill(0);
      for (let k = 0; k < drives; k++) out[terminals + k] = -sensitivity.average(k).values[v];
    },
  }));
}
