import { gridStopper as practice } from "../../facts/practice.ts";
import { finding, listed, partsOn } from "../frame/index.ts";
import type { Rule } from "../rule.ts";
import { netsWith } from "../shared/nodes.ts";
import { electrodePlace } from "../shared/sections.ts";
import { outputSections } from "./output.ts";

export const gridStopper: Rule = {
  id: "valve/grid-stopper",
  severity: "advice",
  sentence: "The output valve's grid has no stopper.",
  why: "A steep valve with a few centimetres of wire on its grid sings at a hundred megahertz, which heats it and is heard as roughness; a stopper on the socket kills it.",
  source: practice.source,
  quiet:
    "Quiet where a resistor of 470 Ω or more stands alone between the grid and everything else, on transformer- or " +
    "follower-driven grids with their own resistor, and on types that are made for class B without bias.",
  bad: `amp "No grid stopper"
source B1 250V { plus: HT, minus: gnd }
HT -- resistor R5 220R 1W -- s1
valve V1 EL84 { plate: p1, screen: s1, grid: g1, cathode: k1 }
g1 -- resistor R1 470k 0.5W -- gnd
in -- capacitor C1 22n 400V film -- g1
in -- resistor R2 1M 0.5W -- gnd
k1 -- resistor R3 180R 3W wirewound -- gnd
output-transformer T1 8W {
  plates  5k 60mA 260R { p1 HT }
  speaker 8R 0.5R      { spk gnd }
}
spk -- speaker LS1 8R 15W -- gnd
`,
  good: `amp "With a stopper"
source B1 250V { plus: HT, minus: gnd }
HT -- resistor R5 220R 1W -- s1
valve V1 EL84 { plate: p1, screen: s1, grid: g1, cathode: k1 }
g0 -- resistor R4 2k2 0.5W -- g1
g0 -- resistor R1 470k 0.5W -- gnd
in -- capacitor C1 22n 400V film -- g0
in -- resistor R2 1M 0.5W -- gnd
k1 -- resistor R3 180R 3W wirewound -- gnd
output-transformer T1 8W {
  plates  5k 60mA 260R { p1 HT }
  speaker 8R 0.5R      { spk gnd }
}
spk -- speaker LS1 8R 15W -- gnd
`,
  *check(context) {
    const { circuit } = context;
    const bare = outputSections(circuit).filter(({ section }) => {
      if (section.grid === undefined) return false;
      context.checked(section.valve.reference);
      const others = netsWith(circuit, section.grid)
        .flatMap((net) => partsOn(circuit, net))
        .filter((part) => part !== section.valve && part.kind !== "wire");
      // In class B without bias the grid draws current, which a stopper would stand in the way of.
      if (section.facts?.file.zero_bias) return false;
      // A grid held by its leak alone has nothing else to sing with.
      if (others.length === 0) return false;
      return !(
        others.length === 1 &&
        others[0].kind === "resistor" &&
        others[0].ohms.value >= practice.leastOhms
      );
    });
    if (bare.length === 0) return;
    const keys = bare.map(({ section }) => section.key);
    yield finding(gridStopper, {
      message: `${listed(keys)} ${keys.length > 1 ? "have" : "has"} no grid stopper: 1 kΩ to 10 kΩ on the socket, between the grid and everything else.`,
      on: bare.map(({ section }) => section.valve.reference),
      place: electrodePlace(bare[0].section, "grid"),
    });
  },
};
