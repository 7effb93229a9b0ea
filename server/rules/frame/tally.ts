/** Counts what was held against a limit, and gathers what could not be, to be told once per part. */
import type { Circuit, Place } from "../../circuit/model.ts";
import type { Finding, Margin, Unchecked } from "../rule.ts";
import { listed } from "./quantity.ts";

export class Tally {
  checked = 0;
  /** In the order in which they were held. */
  readonly margins: Margin[] = [];
  readonly #missed = new Map<string, { readonly what: Set<string>; readonly place: Place }>();

  check(_on: string, margin?: Margin): void {
    this.checked++;
    if (margin) this.margins.push(margin);
  }

  miss(on: string, what: string, place: Place): void {
    const entry = this.#missed.get(on);
    if (entry) entry.what.add(what);
    else this.#missed.set(on, { what: new Set([what]), place });
  }

  get unchecked(): number {
    let sum = 0;
    for (const { what } of this.#missed.values()) sum += what.size;
    return sum;
  }

  get missed(): Unchecked[] {
    return [...this.#missed].flatMap(([on, { what }]) => [...what].map((phrase) => ({ on, what: phrase })));
  }

  /** One hint per part, at the place that was named first. */
  findings(circuit: Circuit): Finding[] {
    return [...this.#missed].map(([on, { what, place }]) => ({
      rule: "rating/unrated",
      severity: "unchecked",
      message: `${on}: not checked, because the file or the data does not say enough: ${listed([...what], 12)}.`,
      on: [on],
      place: circuit.partByReference.get(on)?.referencePlace ?? place,
      related: [],
    }));
  }
}
