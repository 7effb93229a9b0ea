import type { Finding, Rule } from "../rule.ts";
import { alike } from "../shared/alike.ts";
import { amplifying } from "../shared/sections.ts";
import { electrodeVolts } from "./electrode-volts.ts";

export const screenVoltage: Rule = {
  id: "valve/screen-voltage",
  severity: "error",
  sentence: "The screen has more volts than the sheet allows.",
  why: "The screen sits closest to the grid: past its volts it overheats under drive and arcs first.",
  source:
    "the valve's sheet, warm and (where printed) without current; IEC 60134 for what it is held against",
  quiet:
    "Quiet without current where the sheet's limit for that is kept; where it prints none, a cold voltage past the warm limit is " +
    "unchecked. A triode-strapped valve is held to the sheet's tied column where it has one.",
  bad: `amp "An EF86 screen straight on the HT"
source B1 260V { plus: HT, minus: gnd }
HT -- resistor R1 100k 1W 500V -- p1
HT -- resistor R2 10k 1W -- s1
valve V1 EF86 { plate: p1, screen: s1, grid: g1, cathode: k1 }
g1 -- resistor R3 1M 0.5W -- gnd
k1 -- resistor R4 10k 0.5W -- gnd
`,
  good: `amp "An EF86 screen behind its megohm"
source B1 260V { plus: HT, minus: gnd }
HT -- resistor R1 100k 1W 500V -- p1
HT -- resistor R2 470k 1W 500V -- s1
valve V1 EF86 { plate: p1, screen: s1, grid: g1, cathode: k1 }
g1 -- resistor R3 1M 0.5W -- gnd
k1 -- resistor R4 1k5 0.5W -- gnd
`,
  *check(context) {
    const all: Finding[] = [];
    for (const section of amplifying(context.circuit)) {
      yield;
      if (section.screen === undefined || section.facts === undefined) continue;
      all.push(...electrodeVolts(context, screenVoltage, section, "screen"));
    }
    yield* alike(all);
  },
};
