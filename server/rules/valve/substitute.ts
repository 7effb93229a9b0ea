import type { Valve } from "../../circuit/model.ts";
import { bookOf } from "../../facts/valves/book.ts";
import type { ValveLimits } from "../../facts/valves/index.ts";
import { finding, listed, partsOf, percent, type QuantityUnit, quantity } from "../frame/index.ts";
import type { Finding, Rule, RuleContext } from "../rule.ts";
import { alike } from "../shared/alike.ts";
import {
  type FigureName,
  type Rated,
  rated,
  type Section,
  sectionsOfValve,
  sourceOf,
  systemWords,
} from "../shared/sections.ts";
import { worstRated } from "../shared/worst-near.ts";
import { drawing } from "./electrode-volts.ts";

/** What is compared: a limit, and the reading that it bounds. */
const COMPARED: readonly {
  readonly figure: FigureName;
  readonly key: (section: Section) => string;
  readonly reading: "volts" | "watts" | "amps";
  readonly words: string;
  readonly unit: QuantityUnit;
}[] = [
  { figure: "plateVolts", key: (s) => `${s.key}.plate`, reading: "volts", words: "plate volts", unit: "V" },
  {
    figure: "plateWatts",
    key: (s) => `${s.key}.plate`,
    reading: "watts",
    words: "plate dissipation",
    unit: "W",
  },
  {
    figure: "screenVolts",
    key: (s) => `${s.key}.screen`,
    reading: "volts",
    words: "screen volts",
    unit: "V",
  },
  {
    figure: "screenWatts",
    key: (s) => `${s.key}.screen`,
    reading: "watts",
    words: "screen dissipation",
    unit: "W",
  },
  {
    figure: "cathodeAmps",
    key: (s) => `${s.key}.cathode`,
    reading: "amps",
    words: "cathode current",
    unit: "A",
  },
];

export const substitute: Rule = {
  id: "valve/substitute",
  severity: "advice",
  sentence: "A type that is sold as the same has lower limits than this one, and would be past them here.",
  why: "The next valve that goes into the socket will be whatever the drawer holds under any of its names; some of those are rated for less.",
  source: "the sheets of the types named",
  quiet:
    "Quiet where every listed equivalent with limits of its own would be within them here, and on equivalents whose limits are " +
    "the same; volts are compared in use, not before the valves are warm. A name that has no sheet of its own is held to the sheet of the type it stands for, and told as unchecked.",
  bad: `amp "A 6V6GTA where a 6V6GT would be over"
source B1 335V { plus: HT, minus: gnd }
HT -- resistor R4 22k 2W 500V -- s1 -- resistor R5 100k 2W 500V -- gnd
valve V1 6V6GTA { plate: HT, screen: s1, grid: g1, cathode: k1 }
g1 -- resistor R1 220k 0.5W -- gnd
k1 -- resistor R3 560R 3W wirewound -- gnd
`,
  good: `amp "Within both"
source B1 250V { plus: HT, minus: gnd }
HT -- resistor R4 470R 2W 500V -- s1
valve V1 6V6GTA { plate: HT, screen: s1, grid: g1, cathode: k1 }
g1 -- resistor R1 220k 0.5W -- gnd
k1 -- resistor R3 330R 3W wirewound -- gnd
`,
  *check(context) {
    const book = bookOf(context.circuit);
    const all: Finding[] = [];
    for (const valve of partsOf(context.circuit, "valve")) {
      yield;
      const facts = valve.type === undefined ? undefined : book.find(valve.type);
      if (!facts || facts.kind === "rectifier") continue;
      const note = book.note(valve.typeWritten);
      if (
        note !== undefined &&
        !book.limitsOfName(valve.typeWritten) &&
        /near|limits|lower|higher/.test(note)
      )
        context.unchecked(
          valve.reference,
          `limits of the ${valve.typeWritten} itself (held to the ${facts.type}'s; ${note})`,
          valve.referencePlace,
        );
      const found = lower(context, valve);
      if (found) all.push(found);
    }
    yield* alike(all);
  },
};

/** The first equivalent that would be past one of its limits here, while the type written is within its own. */
function lower(context: RuleContext, valve: Valve): Finding | undefined {
  const book = bookOf(context.circuit);
  const facts = valve.type === undefined ? undefined : book.find(valve.type);
  if (!facts) return undefined;
  const sections = sectionsOfValve(context.circuit, valve);
  const seen = new Map(sections.map((section) => [section, new Set<ValveLimits>()]));
  for (const name of facts.names) {
    if (name === valve.typeWritten) continue;
    for (const section of sections) {
      const block = book.limitsOfName(name, section.section.name);
      if (!block || block === section.named || seen.get(section)!.has(block)) continue;
      seen.get(section)!.add(block);
      for (const compared of COMPARED) {
        const bound = block[compared.figure];
        const written = rated(section, compared.figure);
        // A figure that is not lower tells nothing against it, whatever the system that it is printed in.
        if (bound === undefined || !written || bound >= written.value) continue;
        const worst = (figure: Pick<Rated, "value" | "block">) =>
          compared.reading === "volts"
            ? // A cold valve stands at the whole supply, which sheets allow: what it is like in use tells them apart.
              drawing(context, section, compared.key(section), figure)
            : worstRated(context.analysis, valve.reference, compared.key(section), compared.reading, figure);
        const most = worst({ value: bound, block });
        if (!most || !(most.value > bound * (1 + 1e-9))) continue;
        const mine = worst(written);
        if (!mine || mine.value > written.value) continue;
        context.checked(valve.reference);
        const others = facts.names.filter(
          (other) => book.limitsOfName(other, section.section.name) === block,
        );
        return finding(substitute, {
          message:
            `${valve.reference} is within a ${valve.typeWritten}'s limits, but its ${compared.words} of ` +
            `${quantity(most.value, compared.unit)} would be past those of ${listed(others, 4)} ` +
            `(${quantity(bound, compared.unit)}, ${systemWords(block)}) by ${percent(most.value / bound - 1)}, sold as the same: say so on the chassis.`,
          on: [valve.reference, section.key],
          place: valve.factPlaces.get("type") ?? valve.referencePlace,
          state: most.state,
          mains: most.mains,
          value: most.value,
          limit: bound,
          unit: compared.unit,
          source: sourceOf(facts, block),
        });
      }
    }
  }
  return undefined;
}
