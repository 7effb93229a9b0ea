/** Rules of the family `rating`, one line each. */
import type { Rule } from "../rule.ts";
import { capacitorReverse } from "./capacitor-reverse.ts";
import { capacitorRipple } from "./capacitor-ripple.ts";
import { capacitorVoltage } from "./capacitor-voltage.ts";
import { chokeCurrent } from "./choke-current.ts";
import { diodeCurrent } from "./diode-current.ts";
import { diodeReverse } from "./diode-reverse.ts";
import { lampVoltage } from "./lamp-voltage.ts";
import { potPower } from "./pot-power.ts";
import { resistorPower } from "./resistor-power.ts";
import { resistorVoltage } from "./resistor-voltage.ts";
import { seriesCapacitors } from "./series-capacitors.ts";
import { speakerPower } from "./speaker-power.ts";
import { switchDc } from "./switch-dc.ts";
import { thermistorCurrent } from "./thermistor-current.ts";
import { unrated } from "./unrated.ts";
import { wireVoltage } from "./wire-voltage.ts";
import { zenerPower } from "./zener-power.ts";
import { zenerReversed } from "./zener-reversed.ts";

export const rules: readonly Rule[] = [
  capacitorReverse,
  capacitorVoltage,
  capacitorRipple,
  seriesCapacitors,
  resistorPower,
  resistorVoltage,
  potPower,
  chokeCurrent,
  diodeReverse,
  diodeCurrent,
  zenerPower,
  zenerReversed,
  lampVoltage,
  wireVoltage,
  switchDc,
  speakerPower,
  thermistorCurrent,
  unrated,
];
