/** Rules of the family `supply`, one line each. */
import type { Rule } from "../rule.ts";
import { discharge } from "./discharge.ts";
import { dischargePath } from "./discharge-path.ts";
import { halfWave } from "./half-wave.ts";
import { heaterCurrent } from "./heater-current.ts";
import { noHighTension } from "./no-high-tension.ts";
import { plateImpedance } from "./plate-impedance.ts";
import { rectifierDirectCurrent } from "./rectifier-direct-current.ts";
import { rectifierHotSwitch } from "./rectifier-hot-switch.ts";
import { rectifierInverse } from "./rectifier-inverse.ts";
import { rectifierPeakCurrent } from "./rectifier-peak-current.ts";
import { rectifierSharing } from "./rectifier-sharing.ts";
import { reservoirSize } from "./reservoir-size.ts";
import { ripple } from "./ripple.ts";
import { standby } from "./standby.ts";
import { transformerLoad } from "./transformer-load.ts";
import { unloaded } from "./unloaded.ts";
import { windingCurrent } from "./winding-current.ts";
import { windingResistance } from "./winding-resistance.ts";

export const rules: readonly Rule[] = [
  rectifierDirectCurrent,
  rectifierPeakCurrent,
  rectifierHotSwitch,
  rectifierInverse,
  reservoirSize,
  plateImpedance,
  rectifierSharing,
  windingCurrent,
  windingResistance,
  transformerLoad,
  heaterCurrent,
  discharge,
  dischargePath,
  ripple,
  standby,
  unloaded,
  noHighTension,
  halfWave,
];
