import { screenStopper as practice } from "../../facts/practice.ts";
import { factPlace, finding, listed, partsOn } from "../frame/index.ts";
import type { Rule } from "../rule.ts";
import { netsWith } from "../shared/nodes.ts";
import { electrodePlace } from "../shared/sections.ts";
import { outputSections } from "./output.ts";

export const screenStopper: Rule = {
  id: "valve/screen-stopper",
  severity: "advice",
  sentence: "The output valve's screen has no resistor of its own.",
  why: "It keeps the screen from being overrun when the plate swings below it, keeps valves in parallel from fighting, and fails instead of the transformer when a screen shorts.",
  source: practice.source,
  quiet:
    "Quiet where a resistor of 47 Ω or more stands alone between the screen and everything else, and on a pentode strapped as a triode.",
  bad: `amp "No screen stopper"
source B1 250V { plus: HT, minus: gnd }
valve V1 EL84 { plate: p1, screen: HT, grid: g1, cathode: k1 }
g1 -- resistor R1 470k 0.5W -- gnd
k1 -- resistor R3 180R 3W wirewound -- gnd
output-transformer T1 8W {
  plates  5k 60mA 260R { p1 HT }
  speaker 8R 0.5R      { spk gnd }
}
spk -- speaker LS1 8R 15W -- gnd
`,
  good: `amp "With a screen stopper"
source B1 250V { plus: HT, minus: gnd }
HT -- resistor R5 220R 1W -- s1
valve V1 EL84 { plate: p1, screen: s1, grid: g1, cathode: k1 }
g1 -- resistor R1 470k 0.5W -- gnd
k1 -- resistor R3 180R 3W wirewound -- gnd
output-transformer T1 8W {
  plates  5k 60mA 260R { p1 HT }
  speaker 8R 0.5R      { spk gnd }
}
spk -- speaker LS1 8R 15W -- gnd
`,
  *check(context) {
    const { circuit } = context;
    /** Resistors that are there, but of too few ohms. */
    const small = new Set<string>();
    const bare = outputSections(circuit).filter(({ section }) => {
      const { screen, plate } = section;
      if (screen === undefined) return false;
      context.checked(section.valve.reference);
      const nets = netsWith(circuit, screen);
      if (plate !== undefined && nets.includes(plate)) return false;
      const others = nets
        .flatMap((net) => partsOn(circuit, net))
        .filter((part) => part !== section.valve && part.kind !== "wire");
      // A screen that nothing is on has another fault, told elsewhere.
      if (others.length === 0) return false;
      // Alone means alone: a capacitor on the screen itself, or a second screen, makes the resistor a dropper.
      const own = others.every((part) => ["resistor", "zener", "diode"].includes(part.kind));
      if (own && others.some((part) => part.kind === "resistor" && part.ohms.value >= practice.leastOhms))
        return false;
      if (own && others.length === 1) small.add(others[0].reference);
      return true;
    });
    if (bare.length === 0) return;
    const keys = bare.map(({ section }) => section.key);
    if (small.size === bare.length) {
      const [one] = small;
      yield finding(screenStopper, {
        message: `${listed([...small])} ${small.size > 1 ? "are" : "is"} too small for ${small.size > 1 ? "screen resistors" : "a screen resistor"} of ${listed(keys)}: 100 Ω to 1 kΩ on the socket.`,
        on: [...small, ...bare.map(({ section }) => section.valve.reference)],
        place: factPlace(circuit.partByReference.get(one)!, "ohms"),
      });
      return;
    }
    yield finding(screenStopper, {
      message: `${listed(keys)} ${keys.length > 1 ? "have no screen resistors" : "has no screen resistor"} of ${keys.length > 1 ? "their" : "its"} own: 100 Ω to 1 kΩ on the socket.`,
      on: bare.map(({ section }) => section.valve.reference),
      place: electrodePlace(bare[0].section, "screen"),
    });
  },
};
