/** Rules of the family `rating`, one line each. */
import type { Rule } from "../rule.ts";
import { unrated } from "./unrated.ts";

export const rules: readonly Rule[] = [unrated];
