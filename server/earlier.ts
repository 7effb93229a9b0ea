/**
 * What was solved a little while ago: a digit taken back, a change undone and done again, a value tried against another come back
 * to a circuit that has been solved already. Only a circuit that is the same to the last figure of its physics is served, so
 * that no result depends on what was checked before it.
 */
import type { Circuit } from "./circuit/model.ts";
import { solvedAs, takenOver } from "./physics/alike.ts";
import type { Analysis } from "./physics/results.ts";

/** Parts of all that is kept, over all, some 20 kB each: two amplifiers of 156. The newest stays however large it is. */
const MOST_PARTS = 320;

export class Earlier {
  /** The one used last stands last. */
  readonly #kept: Analysis[] = [];

  constructor(private readonly mostParts = MOST_PARTS) {}

  /** An analysis for this circuit, nothing solved anew; undefined where none was kept. */
  find(circuit: Circuit): Analysis | undefined {
    for (let k = this.#kept.length - 1; k >= 0; k--) {
      const found = takenOver(this.#kept[k], circuit);
      if (found) return found;
    }
    return undefined;
  }

  /** As the one used last; those that were used longest ago go. */
  keep(analysis: Analysis): void {
    const solved = solvedAs(analysis);
    const at = this.#kept.indexOf(solved);
    if (at >= 0) this.#kept.splice(at, 1);
    this.#kept.push(solved);
    let parts = 0;
    for (let k = this.#kept.length - 1; k >= 0; k--) {
      parts += this.#kept[k].circuit.parts.length;
      if (parts <= this.mostParts || k === this.#kept.length - 1) continue;
      this.#kept.splice(0, k + 1);
      return;
    }
  }

  /** Analyses kept, for tests. */
  get size(): number {
    return this.#kept.length;
  }
}
