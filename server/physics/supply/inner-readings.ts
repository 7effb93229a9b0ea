/** Readings of a part inside a supply: each is worked out when somebody asks for it, since of most few are. */
import type { ReadingName } from "../results.ts";
import type { Readings } from "./island.ts";
import type { Recipe, Waves } from "./waves.ts";

/** How each reading of a part comes from the cycle's waveforms. */
export type Recipes = Partial<Record<ReadingName, Recipe>>;

export class InnerReadings implements Readings {
  readonly #waves: Waves;
  readonly #recipes: Recipes;
  readonly #found: Readings;

  /** @param given what is known besides */
  constructor(waves: Waves, recipes: Recipes, given: Readings = {}) {
    this.#waves = waves;
    this.#recipes = recipes;
    this.#found = given;
  }

  #find(name: ReadingName): number | undefined {
    const known = this.#found[name];
    if (known !== undefined) return known;
    const recipe = this.#recipes[name];
    if (!recipe) return undefined;
    const value = this.#waves.value(recipe);
    this.#found[name] = value;
    return value;
  }

  get volts(): number | undefined {
    return this.#find("volts");
  }
  get amps(): number | undefined {
    return this.#find("amps");
  }
  get rms(): number | undefined {
    return this.#find("rms");
  }
  get peak(): number | undefined {
    return this.#find("peak");
  }
  get inverse(): number | undefined {
    return this.#find("inverse");
  }
  get watts(): number | undefined {
    return this.#find("watts");
  }
  get rmsVolts(): number | undefined {
    return this.#find("rmsVolts");
  }
  get peakVolts(): number | undefined {
    return this.#find("peakVolts");
  }
  get voltAmperes(): number | undefined {
    return this.#find("voltAmperes");
  }
  get ripple(): number | undefined {
    return this.#find("ripple");
  }
  get surge(): number | undefined {
    return this.#find("surge");
  }

  /** All of them, as an object of its own. */
  whole(): Readings {
    const whole: Readings = {};
    for (const name in this.#recipes) whole[name as ReadingName] = this.#find(name as ReadingName);
    for (const name in this.#found) whole[name as ReadingName] = this.#found[name as ReadingName];
    return whole;
  }
}

/** Readings as a plain object, whichever they were. */
export const wholeOf = (readings: Readings): Readings =>
  readings instanceof InnerReadings ? readings.whole() : { ...readings };
