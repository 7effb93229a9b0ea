import type { Finding, Rule } from "../rule.ts";
import { alike } from "../shared/alike.ts";
import { amplifying } from "../shared/sections.ts";
import { electrodeVolts } from "./electrode-volts.ts";

export const plateVoltage: Rule = {
  id: "valve/plate-voltage",
  severity: "error",
  sentence: "The plate has more volts than the sheet allows.",
  why: "Past its volts the valve arcs inside, between plate and cathode or across the mica and the base.",
  source:
    "the valve's sheet, warm and (where printed) without current; IEC 60134 for what it is held against",
  quiet:
    "Quiet without current (cold start, standby) where the sheet prints a limit for that and it is kept; where the sheet prints " +
    "none, a cold voltage past the warm limit is unchecked, not an error: a cold cathode has nothing to arc with.",
  bad: `amp "An EL84 on too much"
source B1 360V { plus: HT, minus: gnd }
HT -- resistor R1 100R 5W wirewound -- p1
HT -- resistor R4 22k 2W 350V -- s1 -- resistor R5 100k 2W 350V -- gnd
valve V1 EL84 { plate: p1, screen: s1, grid: g1, cathode: k1 }
g1 -- resistor R2 470k 0.5W -- gnd
k1 -- resistor R3 470R 5W wirewound -- gnd
`,
  good: `amp "An EL84 at its volts"
source B1 290V { plus: HT, minus: gnd }
HT -- resistor R1 100R 5W wirewound -- p1
HT -- resistor R4 2k2 2W 350V -- s1
valve V1 EL84 { plate: p1, screen: s1, grid: g1, cathode: k1 }
g1 -- resistor R2 470k 0.5W -- gnd
k1 -- resistor R3 270R 5W wirewound -- gnd
`,
  *check(context) {
    const all: Finding[] = [];
    for (const section of amplifying(context.circuit)) {
      yield;
      if (section.plate === undefined || section.facts === undefined) continue;
      all.push(...electrodeVolts(context, plateVoltage, section, "plate"));
    }
    yield* alike(all);
  },
};
