/** What follows where valves draw far more than they should: lists for `leads`. */
import type { Lead } from "../rule.ts";

/** Limits that the standing current of the output stage drives past. They stay told, as its doing. */
export const ledByCurrent: readonly Lead[] = [
  "mains/fuse-value",
  "output/transformer-current",
  "output/transformer-power",
  "rating/capacitor-ripple",
  "rating/choke-current",
  "rating/resistor-power",
  "rating/thermistor-current",
  "supply/rectifier-direct-current",
  "supply/rectifier-peak-current",
  "supply/ripple",
  "supply/transformer-load",
  "supply/winding-current",
  "valve/pair-imbalance",
].map((rule) => ({ rule, sharing: "any", manner: "mark" }));
