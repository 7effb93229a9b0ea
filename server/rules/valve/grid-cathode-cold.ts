import type { Circuit, NetIndex, Part } from "../../circuit/model.ts";
import { coldGrid } from "../../facts/practice.ts";
import { ends, limit, partsOn, relatedNet, relatedPart, solutions } from "../frame/index.ts";
import type { Rule } from "../rule.ts";
import { heldWhileCold } from "../shared/cathode-way.ts";
import { networkOf } from "../shared/network.ts";
import { netsWith } from "../shared/nodes.ts";
import { amplifying, electrodePlace, type Section, sectionsOnPlate } from "../shared/sections.ts";

export const gridCathodeCold: Rule = {
  id: "valve/grid-cathode-cold",
  severity: "warning",
  sentence: "At switch-on the grid of the direct-coupled follower stands far above its cold cathode.",
  why:
    "The grid is tied to a plate that is at the whole HT until the valves draw, while the cathode is still at zero: the gap of a " +
    "few hundredths of a millimetre arcs at every switch-on, and the follower dies young.",
  source: coldGrid.source,
  quiet:
    "Quiet with a clamp diode or a neon from grid to cathode, with 100 kΩ or more in the grid's lead, behind a rectifier " +
    "that warms as slowly as the valve (its cold start is at zero volts), and where a cold valve alone leads from the cathode " +
    "to common, as in a cascode: the cathode then floats up with the grid.",
  bad: `amp "A follower on a silicon supply"
source B1 300V { plus: HT, minus: gnd }
HT -- resistor R1 100k 1W 500V -- p1
valve V1 ECC83 {
  a { plate: p1, grid: g1, cathode: k1 }
  b { plate: HT, grid: p1, cathode: k2 }
}
g1 -- resistor R2 1M 0.5W -- gnd
k1 -- resistor R3 1k5 0.5W -- gnd
k2 -- resistor R4 100k 2W 500V -- gnd
`,
  good: `amp "A follower with its clamp diode"
source B1 300V { plus: HT, minus: gnd }
HT -- resistor R1 100k 1W 500V -- p1
valve V1 ECC83 {
  a { plate: p1, grid: g1, cathode: k1 }
  b { plate: HT, grid: p1, cathode: k2 }
}
p1 -- diode D1 1N4007 -- k2
g1 -- resistor R2 1M 0.5W -- gnd
k1 -- resistor R3 1k5 0.5W -- gnd
k2 -- resistor R4 100k 2W 500V -- gnd
`,
  *check(context) {
    const { circuit, analysis } = context;
    for (const section of amplifying(circuit)) {
      yield;
      const { grid, cathode } = section;
      if (grid === undefined || cathode === undefined) continue;
      const driver = coupledTo(circuit, section);
      if (!driver) continue;
      let worst: { volts: number; direct: boolean; mains: "low" | "nominal" | "high" } | undefined;
      for (const solution of solutions(analysis, { states: ["cold"] })) {
        const volts = solution.volts[grid] - solution.volts[cathode];
        if (worst && volts <= worst.volts) continue;
        // Far below that plate, it stands on a divider: what feeds it is to be named, not the plate that is there too.
        const direct = solution.volts[grid] > 0.9 * solution.volts[driver.plate as NetIndex];
        worst = { volts, direct, mains: solution.level };
      }
      if (!worst) continue;
      if (
        clamped(circuit, grid, cathode) ||
        seriesOhms(circuit, section, driver) >= 0.99 * coldGrid.seriesOhms ||
        !heldWhileCold(circuit, cathode)
      ) {
        context.checked(section.valve.reference);
        continue;
      }
      const found = limit(context, gridCathodeCold, {
        on: [section.valve.reference, `${section.key}.grid`],
        place: electrodePlace(section, "grid"),
        says: `${section.key}'s grid stands above its cold cathode by`,
        value: worst.volts,
        limit: coldGrid.volts,
        limitIs: "common practice allows",
        unit: "V",
        state: "cold",
        mains: worst.mains,
        note: worst.direct ? `tied to ${driver.key}'s plate` : "held by a divider",
        todo: "A diode from grid to cathode (anode on the grid; a 1N4007 does), a neon, or 100 kΩ in the grid's lead.",
        related: [
          worst.direct
            ? relatedPart(driver.valve, `${driver.key}'s plate is what the grid hangs on`)
            : relatedNet(circuit, driver.plate, "what the divider hangs on"),
        ],
      });
      if (found) yield found;
    }
  },
};

/** The section whose plate the grid hangs on at dc, through resistors or nothing. */
function coupledTo(circuit: Circuit, section: Section): Section | undefined {
  const grid = section.grid as NetIndex;
  const reached = new Set<NetIndex>(netsWith(circuit, grid));
  // Over resistors in the grid's lead, but not over the plate's load to the HT.
  search: for (const net of reached) {
    if (sectionsOnPlate(circuit, net).some((other) => other !== section)) break;
    for (const part of partsOn(circuit, net)) {
      if (reached.size > 12) break search;
      if (part.kind !== "resistor") continue;
      for (const end of ends(part) ?? []) for (const own of netsWith(circuit, end)) reached.add(own);
    }
  }
  const plates = [...reached].flatMap((net) => sectionsOnPlate(circuit, net));
  const coupled = new Set(plates.filter((other) => other !== section && other.cathode !== section.cathode));
  if (coupled.size < 2) return [...coupled][0];
  return amplifying(circuit).find((other) => coupled.has(other));
}

/** Resistance between the driver's plate and the grid. */
function seriesOhms(circuit: Circuit, section: Section, driver: Section): number {
  const { grid } = section;
  if (grid === undefined || driver.plate === undefined) return 0;
  const network = networkOf(circuit);
  if (network.nodeOf(grid) === network.nodeOf(driver.plate)) return 0;
  const solved = network.solve(new Map([[grid, 1]]), [grid], () => 0);
  return solved?.[0] ?? 0;
}

/** A diode (anode at the grid) or a neon straight from grid to cathode. */
function clamped(circuit: Circuit, grid: NetIndex, cathode: NetIndex): boolean {
  const grids = netsWith(circuit, grid);
  const cathodes = netsWith(circuit, cathode);
  const joins = (part: Part, from: string, to: string) => {
    const [a, b] = [part.terminals.get(from), part.terminals.get(to)];
    return a !== undefined && b !== undefined && grids.includes(a) && cathodes.includes(b);
  };
  return grids
    .flatMap((net) => partsOn(circuit, net))
    .some((part) => {
      switch (part.kind) {
        case "diode":
          return joins(part, "anode", "cathode");
        case "zener":
          return joins(part, "anode", "cathode") || joins(part, "cathode", "anode");
        case "lamp":
          return part.neon && (joins(part, "a", "b") || joins(part, "b", "a"));
        case "resistor":
          // A low resistance from grid to cathode holds the two together.
          return part.ohms.value <= 10e3 && (joins(part, "a", "b") || joins(part, "b", "a"));
        default:
          return false;
      }
    });
}
