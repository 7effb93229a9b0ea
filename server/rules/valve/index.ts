/** Rules of the family `valve`, one line each. */
import type { Rule } from "../rule.ts";
import { biasCold } from "./bias-cold.ts";
import { biasFixedUnadjustable } from "./bias-fixed-unadjustable.ts";
import { biasMissing } from "./bias-missing.ts";
import { biasWiperFailsafe } from "./bias-wiper-failsafe.ts";
import { blocking } from "./blocking.ts";
import { cathodeCurrent } from "./cathode-current.ts";
import { cathodeOpen } from "./cathode-open.ts";
import { gridCathodeCold } from "./grid-cathode-cold.ts";
import { gridCircuitResistance } from "./grid-circuit-resistance.ts";
import { gridLeftOpen } from "./grid-left-open.ts";
import { gridOpen } from "./grid-open.ts";
import { gridStopper } from "./grid-stopper.ts";
import { heaterCathode } from "./heater-cathode.ts";
import { heaterFloating } from "./heater-floating.ts";
import { heaterMissing } from "./heater-missing.ts";
import { heaterVoltage } from "./heater-voltage.ts";
import { pairImbalance } from "./pair-imbalance.ts";
import { plateDissipation } from "./plate-dissipation.ts";
import { plateGridExchanged } from "./plate-grid-exchanged.ts";
import { plateScreenExchanged } from "./plate-screen-exchanged.ts";
import { plateVoltage } from "./plate-voltage.ts";
import { screenDissipation } from "./screen-dissipation.ts";
import { screenStopper } from "./screen-stopper.ts";
import { screenVoltage } from "./screen-voltage.ts";
import { substitute } from "./substitute.ts";
import { suppressor } from "./suppressor.ts";

export const rules: readonly Rule[] = [
  plateDissipation,
  screenDissipation,
  plateVoltage,
  screenVoltage,
  cathodeCurrent,
  plateScreenExchanged,
  plateGridExchanged,
  suppressor,
  heaterCathode,
  heaterVoltage,
  heaterFloating,
  heaterMissing,
  gridCircuitResistance,
  gridCathodeCold,
  gridOpen,
  gridLeftOpen,
  cathodeOpen,
  biasMissing,
  biasCold,
  biasFixedUnadjustable,
  biasWiperFailsafe,
  pairImbalance,
  gridStopper,
  screenStopper,
  blocking,
  substitute,
];
