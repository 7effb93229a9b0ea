/** Counts what was held against a limit, and gathers what could not be, to be told once per part. */
import type { Circuit, Place } from "../../circuit/model.ts";
import type { Finding, Margin, Unchecked } from "../rule.ts";
import { listed } from "./quantity.ts";

/** Why a limit is unchecked where nothing else is said. */
export const notSaid = "the file or the data does not say enough";

interface Missed {
  readonly on: string;
  readonly what: Set<string>;
  readonly place: Place;
  readonly because?: string;
}

export class Tally {
  checked = 0;
  /** In the order in which they were held. */
  readonly margins: Margin[] = [];
  /** By what it is on, and why: nearly always for want of what the file does not say. */
  readonly #missed = new Map<string, Missed>();

  check(_on: string, margin?: Margin): void {
    this.checked++;
    if (margin) this.margins.push(margin);
  }

  /** @param because left out: the file or the data does not say enough */
  miss(on: string, what: string, place: Place, because?: string): void {
    const key = because === undefined ? on : `${on}\n${because}`;
    const entry = this.#missed.get(key);
    if (entry) entry.what.add(what);
    else this.#missed.set(key, { on, what: new Set([what]), place, because });
  }

  /** All that another could not check. */
  takeMissed(other: Tally): void {
    for (const { on, what, place, because } of other.#missed.values())
      for (const one of what) this.miss(on, one, place, because);
  }

  get unchecked(): number {
    let sum = 0;
    for (const { what } of this.#missed.values()) sum += what.size;
    return sum;
  }

  get missed(): Unchecked[] {
    return [...this.#missed.values()].flatMap(({ on, what, because }) =>
      [...what].map((phrase) =>
        because === undefined ? { on, what: phrase } : { on, what: phrase, because },
      ),
    );
  }

  /** One hint per part and reason, at the place that was named first. */
  findings(circuit: Circuit): Finding[] {
    return [...this.#missed.values()].map(({ on, what, place, because = notSaid }) => ({
      rule: "rating/unrated",
      severity: "unchecked",
      message: `${on}: not checked, because ${because}: ${listed([...what], 12)}.`,
      on: [on],
      place: circuit.partByReference.get(on)?.referencePlace ?? place,
      related: [],
    }));
  }
}
