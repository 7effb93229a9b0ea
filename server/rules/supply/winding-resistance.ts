import { usualCopper } from "../../circuit/kinds/copper.ts";
import { copperLoss } from "../../facts/transformers.ts";
import { limit, quantity } from "../frame/index.ts";
import type { Rule } from "../rule.ts";
import { type CopperLoss, copperLosses, isImpossible, ohmsForLoss } from "../shared/copper-loss.ts";

export const windingResistance: Rule = {
  id: "supply/winding-resistance",
  severity: "error",
  sentence: "The resistance written for a winding does not let its rated current through.",
  why:
    "Every figure behind the transformer rests on it: with a resistance that cannot be, high tension and heaters are computed far too " +
    "low, and capacitors and valves pass that would not.",
  source: `${copperLoss.most.source}; ${copperLoss.practice.source}`,
  quiet:
    "Quiet up to 30 % of the winding's open-circuit volts lost at its rated current, a warning from there to half of them. Quiet where the " +
    "file gives no resistance, and on a winding whose load the file does not tell.",
  bad: `amp "Kilohms for ohms"
transformer T1 80VA {
  primary 230V 5k               { a b }
  ht      290-0-290V 120mA 110R { htA gnd htB }
}
htA -- diode D1 1N4007 -- HT
htB -- diode D2 1N4007 -- HT
HT -- capacitor C1 32u 450V electrolytic -- gnd
HT -- resistor R1 5k 50W wirewound -- gnd
`,
  good: `amp "As a meter reads it"
transformer T1 80VA {
  primary 230V 25R              { a b }
  ht      290-0-290V 120mA 110R { htA gnd htB }
}
htA -- diode D1 1N4007 -- HT
htB -- diode D2 1N4007 -- HT
HT -- capacitor C1 32u 450V electrolytic -- gnd
HT -- resistor R1 5k 50W wirewound -- gnd
`,
  *check(context) {
    const share = copperLoss.practice.value;
    for (const loss of copperLosses(context.circuit)) {
      yield;
      const { transformer, winding, mostOhms } = loss;
      const key = `${transformer.reference}.${winding.name}`;
      const found = limit(context, windingResistance, {
        on: [key, transformer.reference],
        place: winding.ohms.place ?? winding.place,
        value: winding.ohms.value,
        limit: mostOhms,
        unit: "Ω",
        margin: ohmsForLoss(loss, share) / mostOhms,
        words: () => ({
          says: `${key} is written with a resistance of`,
          limitIs: `at its rated ${loadOf(loss)} half of its volts would be lost in`,
          todo:
            `${isImpossible(loss) ? "That cannot be, and what was computed behind it is not held against any limit" : "That is hardly so, and what stands behind it is computed with it"}: ` +
            `${usual(loss)}. Measure it end to end, unplugged, with nothing connected to it, and write what the meter reads.`,
        }),
      });
      if (found) yield found;
    }
  },
};

const loadOf = ({ onMains, voltAmperes, amps }: CopperLoss): string =>
  onMains ? `load of ${quantity(voltAmperes, "VA")}` : quantity(amps, "A");

/** "some 25 Ω would be usual" */
function usual({ transformer, winding }: CopperLoss): string {
  const { primary, secondaries, voltAmperes } = transformer;
  const copper = usualCopper(primary, secondaries, voltAmperes?.value);
  const ohms = winding === primary ? copper.primary : copper.secondaries[secondaries.indexOf(winding)];
  return `some ${quantity(ohms, "Ω", 2)} would be usual`;
}
