/** Rules of the family `output`, one line each. */
import type { Rule } from "../rule.ts";

export const rules: readonly Rule[] = [];
