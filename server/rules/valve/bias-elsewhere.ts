/** An output valve whose grid leak goes to common while the file's bias supply stands beside it. */
import type { Circuit, NetIndex, Part } from "../../circuit/model.ts";
import { biasSupply, cathodeSense, leastBias } from "../../facts/practice.ts";
import type { Solution } from "../../physics/results.ts";
import { netName, partsOf, partsOn, quantity, relatedNet, relatedPart } from "../frame/index.ts";
import type { Related } from "../rule.ts";
import { networkOf } from "../shared/network.ts";
import { netsWith } from "../shared/nodes.ts";
import { rated, type Section } from "../shared/sections.ts";
import { cathodeResistors } from "./bias.ts";
import { type OutputSection, outputSections } from "./output.ts";

export interface BiasSupply {
  readonly says: string;
  readonly related: readonly (Related | undefined)[];
}

/**
 * Where the bias stands that this grid should have: at the other valves of its stage, or in a supply below common that the file has.
 * Undefined where the file has none.
 */
export function biasElsewhere(circuit: Circuit, idle: Solution, section: Section): BiasSupply | undefined {
  const stage = outputSections(circuit);
  const own = stage.find((entry) => entry.section.key === section.key);
  if (!own) return undefined;
  const partner = stage.find(
    (entry) =>
      entry.section.key !== section.key &&
      entry.transformer === own.transformer &&
      entry.section.grid !== undefined &&
      idle.volts[entry.section.grid] <= -biasSupply.leastVolts,
  );
  const leak = leakToCommon(circuit, section.grid);
  const goes = leak ? `Its leak ${leak.reference} goes to common` : "It goes to common";
  if (partner) return fromPartner(circuit, idle, partner, goes, leak);
  const supply = lowestSupply(circuit, idle);
  return supply === undefined
    ? undefined
    : {
        says: `${goes}, and not to the bias supply at ${netName(circuit, supply)} (${quantity(idle.volts[supply], "V")}).`,
        related: [
          relatedPart(leak, `${leak?.reference} is its leak`),
          relatedNet(circuit, supply, "the bias supply that there is"),
        ],
      };
}

function fromPartner(
  circuit: Circuit,
  idle: Solution,
  { section }: OutputSection,
  goes: string,
  leak: Part | undefined,
): BiasSupply {
  const grid = section.grid as NetIndex;
  const below = networkOf(circuit)
    .partsFrom(grid)
    .flatMap((part) => [...part.terminals.values()])
    .filter((net) => idle.volts[net] <= -biasSupply.leastVolts && !netsWith(circuit, grid).includes(net));
  // Where it is set or smoothed, and no mere joint of the leak.
  const from = below.find((net) =>
    partsOn(circuit, net).some(
      (part) =>
        part.kind === "pot" || part.kind === "source" || (part.kind === "capacitor" && part.polarised),
    ),
  );
  const has = from === undefined ? "" : `, from ${netName(circuit, from)}`;
  return {
    says: `${goes}, where ${section.key}'s has its bias (${quantity(idle.volts[grid], "V")}${has}): this grid is not connected to it.`,
    related: [
      relatedPart(leak, `${leak?.reference} is its leak`),
      relatedPart(section.valve, `${section.key} has its bias`),
      from === undefined ? undefined : relatedNet(circuit, from, `where ${section.key}'s bias comes from`),
    ],
  };
}

/** The resistor, of those that the grid hangs on, that ends on common. */
function leakToCommon(circuit: Circuit, grid: NetIndex | undefined): Part | undefined {
  if (grid === undefined || circuit.ground === undefined) return undefined;
  const common = new Set(netsWith(circuit, circuit.ground));
  return networkOf(circuit)
    .partsFrom(grid)
    .find((part) => [...part.terminals.values()].some((net) => common.has(net)));
}

/** The net of the lowest volts that a capacitor with its plus on common, or a source, holds below it. */
function lowestSupply(circuit: Circuit, idle: Solution): NetIndex | undefined {
  if (circuit.ground === undefined) return undefined;
  const common = new Set(netsWith(circuit, circuit.ground));
  let lowest: NetIndex | undefined;
  for (const part of partsOf(circuit, "capacitor", "source")) {
    const [plus, minus] = [part.terminals.get("plus"), part.terminals.get("minus")];
    if (plus === undefined || minus === undefined || !common.has(plus)) continue;
    if (!(idle.volts[minus] <= -biasSupply.leastVolts)) continue;
    if (lowest === undefined || idle.volts[minus] < idle.volts[lowest]) lowest = minus;
  }
  return lowest;
}

/**
 * True for an output valve whose grid stands at common and that has no more in its cathode's lead than a resistor to measure its
 * current by: that resistor's few volts are no bias, where the plate is past its watts.
 */
export function onlySensed(circuit: Circuit, idle: Solution, section: Section): boolean {
  const { grid, cathode } = section;
  if (grid === undefined || cathode === undefined) return false;
  if (!(Math.abs(idle.volts[grid]) < leastBias.powerVolts)) return false;
  const own = cathodeResistors(circuit, cathode);
  if (own.some((part) => part.kind !== "resistor" || part.ohms.value > cathodeSense.mostOhms)) return false;
  const watts = idle.readings.get(`${section.key}.plate`)?.watts ?? Number.NaN;
  return watts > (rated(section, "plateWatts")?.value ?? Number.POSITIVE_INFINITY);
}
