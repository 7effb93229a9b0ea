/** Rules of the family `bench`, one line each. */
import type { Rule } from "../rule.ts";
import { bias } from "./bias.ts";
import { reading } from "./reading.ts";
import { readingImpossible } from "./reading-impossible.ts";

export const rules: readonly Rule[] = [reading, bias, readingImpossible];
