/** Rules of the family `earth`, one line each. */
import type { Rule } from "../rule.ts";
import { commonLift } from "./common-lift.ts";
import { crossSection } from "./cross-section.ts";
import { floatingMetal } from "./floating-metal.ts";
import { longest } from "./longest.ts";
import { missing } from "./missing.ts";
import { ownFixing } from "./own-fixing.ts";
import { record } from "./record.ts";
import { switched } from "./switched.ts";
import { touchVoltage } from "./touch-voltage.ts";

export const rules: readonly Rule[] = [
  missing,
  ownFixing,
  longest,
  switched,
  floatingMetal,
  commonLift,
  crossSection,
  record,
  touchVoltage,
];
