/** Rules of the family `mains`, one line each. */
import type { Rule } from "../rule.ts";
import { anchorage } from "./anchorage.ts";
import { capacitorBleed } from "./capacitor-bleed.ts";
import { clothWire } from "./cloth-wire.ts";
import { colour } from "./colour.ts";
import { cordRating } from "./cord-rating.ts";
import { crossed } from "./crossed.ts";
import { eitherWayRound } from "./either-way-round.ts";
import { fuseFirst } from "./fuse-first.ts";
import { fuseInNeutral } from "./fuse-in-neutral.ts";
import { fuseTip } from "./fuse-tip.ts";
import { fuseValue } from "./fuse-value.ts";
import { fuseVoltage } from "./fuse-voltage.ts";
import { lineCapacitor } from "./line-capacitor.ts";
import { neutralBroken } from "./neutral-broken.ts";
import { polaritySwitch } from "./polarity-switch.ts";
import { primaryVoltage } from "./primary-voltage.ts";
import { switchActive } from "./switch-active.ts";
import { switchMissing } from "./switch-missing.ts";
import { switchPositions } from "./switch-positions.ts";
import { switchRating } from "./switch-rating.ts";
import { touch } from "./touch-current.ts";
import { wireInsulation } from "./wire-insulation.ts";
import { wrongBothWays } from "./wrong-both-ways.ts";

export const rules: readonly Rule[] = [
  wrongBothWays,
  fuseFirst,
  fuseInNeutral,
  fuseTip,
  switchActive,
  switchMissing,
  neutralBroken,
  eitherWayRound,
  crossed,
  lineCapacitor,
  polaritySwitch,
  touch,
  capacitorBleed,
  fuseValue,
  fuseVoltage,
  switchRating,
  cordRating,
  wireInsulation,
  primaryVoltage,
  colour,
  anchorage,
  clothWire,
  switchPositions,
];
