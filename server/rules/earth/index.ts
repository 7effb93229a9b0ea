/** Rules of the family `earth`, one line each. */
import type { Rule } from "../rule.ts";
import { missing } from "./missing.ts";
import { ownFixing } from "./own-fixing.ts";

export const rules: readonly Rule[] = [missing, ownFixing];
