/** Rules of the family `supply`, one line each. */
import type { Rule } from "../rule.ts";

export const rules: readonly Rule[] = [];
