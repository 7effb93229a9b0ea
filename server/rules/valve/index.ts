/** Rules of the family `valve`, one line each. */
import type { Rule } from "../rule.ts";

export const rules: readonly Rule[] = [];
