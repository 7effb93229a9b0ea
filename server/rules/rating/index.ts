/** Rules of the family `rating`, one line each. */
import type { Rule } from "../rule.ts";
import { capacitorVoltage } from "./capacitor-voltage.ts";
import { resistorPower } from "./resistor-power.ts";
import { resistorVoltage } from "./resistor-voltage.ts";
import { unrated } from "./unrated.ts";

export const rules: readonly Rule[] = [unrated, capacitorVoltage, resistorPower, resistorVoltage];
