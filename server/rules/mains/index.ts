/** Rules of the family `mains`, one line each. */
import type { Rule } from "../rule.ts";

export const rules: readonly Rule[] = [];
