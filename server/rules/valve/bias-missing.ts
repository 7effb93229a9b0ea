import type { Circuit, Diode, NetIndex, Part } from "../../circuit/model.ts";
import { cathodeSense, gridLeakBias, leastBias, smallValve } from "../../facts/practice.ts";
import type { Solution } from "../../physics/results.ts";
import { called, finding, listed, netName, partsOn, quantity, relatedPart } from "../frame/index.ts";
import type { Finding, Related, Rule } from "../rule.ts";
import { alike } from "../shared/alike.ts";
import { ledByCurrent } from "../shared/led.ts";
import { networkOf } from "../shared/network.ts";
import { netsWith } from "../shared/nodes.ts";
import { amplifying, electrodePlace, rated, type Section } from "../shared/sections.ts";
import { cathodeResistors } from "./bias.ts";
import { biasElsewhere, onlySensed } from "./bias-elsewhere.ts";
import { outputSections } from "./output.ts";

/** So far above the grid is no bias supply. */
const PULL_VOLTS = 20;

export const biasMissing: Rule = {
  id: "valve/bias-missing",
  severity: "error",
  sentence: "The valve runs without bias.",
  why:
    "With its grid at its cathode an output valve draws all that it can: it glows within seconds. A small valve clips half of " +
    "every wave and draws grid current through whatever drives it.",
  source: leastBias.source,
  quiet:
    "Quiet on small valves that bias themselves by a large grid leak or by their own drop, on direct-coupled stages, whose grid " +
    "is held by the plate ahead, on output pairs of a type that is made for class B without bias (6N7), on sections without " +
    "plate current, and in cold start.",
  bad: `amp "A bias supply that never arrives"
source B1 300V { plus: HT, minus: gnd }
HT -- resistor R4 1k 3W wirewound -- s1
HT -- resistor R5 100R 10W wirewound -- p1
valve V1 6L6GC { plate: p1, screen: s1, grid: g1, cathode: gnd }
g1 -- resistor R1 47k 0.5W -- gnd
`,
  good: `amp "With its bias"
source B1 300V { plus: HT, minus: gnd }
source B2 27V { plus: gnd, minus: nB }
HT -- resistor R4 1k 3W wirewound -- s1
HT -- resistor R5 100R 10W wirewound -- p1
valve V1 6L6GC { plate: p1, screen: s1, grid: g1, cathode: gnd }
g1 -- resistor R1 47k 0.5W -- nB
`,
  leads: [
    { rule: "valve/plate-dissipation", sharing: "part", manner: "attach" },
    { rule: "valve/screen-dissipation", sharing: "part", manner: "attach" },
    { rule: "valve/cathode-current", sharing: "part", manner: "attach" },
    // The resistor that is bridged.
    { rule: "circuit/short", sharing: "part", manner: "attach" },
    ...ledByCurrent,
    // The other side of a shared cathode resistor is cut off by it.
    { rule: "valve/bias-cold", sharing: "any", manner: "mark" },
  ],
  *check(context) {
    const { circuit, analysis } = context;
    const idle = analysis.solution("idle", "nominal");
    if (!idle?.solved) return;
    const outputs = new Set(outputSections(circuit).map((entry) => entry.section.key));
    const network = networkOf(circuit);
    const all: Finding[] = [];
    for (const section of amplifying(circuit)) {
      yield;
      const { grid, cathode } = section;
      if (grid === undefined || cathode === undefined || !section.facts) continue;
      const amps = idle.readings.get(`${section.key}.plate`)?.amps ?? 0;
      const volts = idle.volts[grid] - idle.volts[cathode];
      if (Number.isNaN(volts) || !(amps > 1e-4)) continue;
      context.checked(section.valve.reference);
      if (section.facts.file.zero_bias && outputs.has(section.key)) continue;
      const power =
        outputs.has(section.key) || (rated(section, "plateWatts")?.value ?? 0) >= smallValve.watts;
      const elsewhere = power ? biasElsewhere(circuit, idle, section) : undefined;
      const sensed = elsewhere !== undefined && onlySensed(circuit, idle, section);
      if (volts < -(power ? leastBias.powerVolts : leastBias.volts) && !sensed) continue;
      if (
        !power &&
        (heldByPlate(section, circuit, idle) || leakOhms(section, network) >= gridLeakBias.leastOhms)
      )
        continue;
      const own = cathodeResistors(circuit, cathode);
      const bridge = bridged(circuit, cathode);
      const pull = pullingUp(circuit, idle, section, grid);
      const resistor = own.some(
        (part) => part.kind !== "resistor" || part.ohms.value > cathodeSense.mostOhms,
      );
      const found = finding(biasMissing, {
        severity: power ? "error" : "warning",
        message: `${section.key} runs without bias: its grid stands ${where(volts)} at idle, and its plate draws ${quantity(amps, "A")}. ${
          bridge
            ? bridge.says
            : pull
              ? pull.says
              : elsewhere && (sensed || !resistor)
                ? elsewhere.says
                : resistor
                  ? "Its cathode resistor is too small, or something pulls the grid up."
                  : "No negative supply comes to the grid: look at its rectifier and its way there, or fit a resistor in the cathode's lead."
        }`,
        on: [
          section.valve.reference,
          bridge ? `${section.key}.cathode` : `${section.key}.grid`,
          ...(bridge ? [bridge.resistor.reference] : []),
        ],
        place: electrodePlace(section, bridge ? "cathode" : "grid"),
        state: "idle",
        mains: "nominal",
        value: volts,
        unit: "V",
        related: [
          ...((bridge ?? pull)?.related ?? (sensed || !resistor ? elsewhere?.related : undefined) ?? []),
          ...own.slice(0, 2).map((part) => relatedPart(part, `${part.reference} is in the cathode's lead`)),
        ],
      });
      all.push(found);
    }
    yield* alike(all);
  },
};

/** A cathode tied to common by a conductor that has its bias resistor between its ends. */
function bridged(circuit: Circuit, cathode: NetIndex): (Pull & { readonly resistor: Part }) | undefined {
  const nets = netsWith(circuit, cathode);
  if (circuit.ground === undefined || !nets.includes(circuit.ground) || cathode === circuit.ground)
    return undefined;
  const here = partsOn(circuit, cathode);
  const resistor = here.find(
    (part) =>
      part.kind === "resistor" &&
      part.ohms.value > cathodeSense.mostOhms &&
      [...part.terminals.values()].every((net) => nets.includes(net)),
  );
  if (!resistor) return undefined;
  const wire = here.find((part) => part.kind === "wire" || part.kind === "bond");
  const by = wire ? called(circuit, wire) : "what joins them";
  return {
    resistor,
    says: `Its cathode is tied to common: ${resistor.reference}, which is to make its bias, is bridged by ${by}. Take that out.`,
    related: [
      relatedPart(resistor, `${resistor.reference} has both its ends on common`),
      relatedPart(wire, "this bridges it"),
    ],
  };
}

interface Pull {
  readonly says: string;
  readonly related: readonly (Related | undefined)[];
}

/** What brings the grid up: another stage's plate, or a part on its way that comes from far above it. */
function pullingUp(circuit: Circuit, idle: Solution, section: Section, grid: NetIndex): Pull | undefined {
  const plateOn = (nets: readonly NetIndex[]): Section | undefined =>
    amplifying(circuit).find(
      (other) =>
        other.key !== section.key &&
        other.plate !== undefined &&
        // An unused section is tied to common, which pulls nothing up.
        other.plate !== circuit.ground &&
        nets.includes(other.plate),
    );
  const own = netsWith(circuit, grid);
  const tied = plateOn(own);
  if (tied) return byPlate(circuit, idle, tied, own, []);
  const way = new Map<NetIndex, readonly Part[]>(own.map((net) => [net, []]));
  for (const [net, before] of way) {
    for (const part of partsOn(circuit, net)) {
      if (part.kind !== "resistor" && part.kind !== "pot" && part.kind !== "choke") continue;
      for (const far of part.terminals.values()) {
        if (way.has(far) || Number.isNaN(idle.volts[far])) continue;
        const there = netsWith(circuit, far);
        const high = idle.volts[far] > idle.volts[grid] + PULL_VOLTS;
        const plate = plateOn(there);
        // Pulled down by the grid, a plate may stand hardly above it.
        if (plate) return byPlate(circuit, idle, plate, there, [...before, part]);
        if (high) {
          const supply = rectifiedFrom(circuit, far);
          const from = `${netName(circuit, far)} (${quantity(idle.volts[far], "V")})`;
          return {
            says: supply
              ? `Its bias supply is positive: ${from}. ${supply.reference} is the wrong way round: a bias supply's rectifier has its cathode on the winding.`
              : `${part.reference} pulls it up, from ${from}: a grid's leak goes to common, or to a bias supply.`,
            related: [
              relatedPart(part, comesFrom(circuit, idle, part, far)),
              supply && relatedPart(supply, `${supply.reference} feeds it`),
            ],
          };
        }
        // Common holds its volts: what is behind it pulls nothing.
        if (circuit.ground === undefined || !there.includes(circuit.ground))
          for (const same of there) if (!way.has(same)) way.set(same, [...before, part]);
      }
    }
  }
  return undefined;
}

/** True where a diode's anode comes from a transformer, through a resistor at most. */
function onWinding(circuit: Circuit, diode: Diode): boolean {
  const anode = diode.terminals.get("anode");
  if (anode === undefined) return false;
  const near = netsWith(circuit, anode);
  // Windings end on common, and so does what only clamps.
  if (circuit.ground !== undefined && near.includes(circuit.ground)) return false;
  const wound = (net: NetIndex) =>
    net !== circuit.ground && partsOn(circuit, net).some((part) => part.kind === "transformer");
  return near.some(
    (net) =>
      wound(net) ||
      partsOn(circuit, net).some(
        (part) =>
          part.kind === "resistor" &&
          [...part.terminals.values()].some((far) => netsWith(circuit, far).some(wound)),
      ),
  );
}

/** The diode that feeds a supply which no plate or screen hangs on: of a bias supply, and the wrong way round. */
function rectifiedFrom(circuit: Circuit, from: NetIndex): Diode | undefined {
  const seen = new Set<NetIndex>(netsWith(circuit, from));
  let diode: Diode | undefined;
  for (const net of seen) {
    if (net === circuit.ground) return undefined;
    if (amplifying(circuit).some(({ plate, screen }) => plate === net || screen === net)) return undefined;
    for (const part of partsOn(circuit, net)) {
      if (part.kind === "diode" && part.terminals.get("cathode") === net && onWinding(circuit, part))
        diode ??= part;
      if (part.kind !== "resistor" && part.kind !== "pot" && part.kind !== "choke") continue;
      for (const far of part.terminals.values())
        for (const same of netsWith(circuit, far))
          if (circuit.ground === undefined || !netsWith(circuit, far).includes(circuit.ground))
            seen.add(same);
    }
  }
  return diode;
}

const comesFrom = (circuit: Circuit, idle: Solution, part: Part, net: NetIndex): string =>
  `${part.reference} comes from ${netName(circuit, net)}, ${quantity(idle.volts[net], "V")}`;

/** @param nets those of the plate's node; @param parts the way from the grid to it, nearest first */
function byPlate(
  circuit: Circuit,
  idle: Solution,
  stage: Section,
  nets: readonly NetIndex[],
  parts: readonly Part[],
): Pull {
  const wires = [...new Set(nets.flatMap((net) => partsOn(circuit, net)))].filter(
    (part) => part.kind === "wire" || part.kind === "switch",
  );
  const through = parts.length > 0 ? ` by ${listed(parts.map((part) => part.reference))}` : "";
  return {
    says:
      `Direct volts come to it from ${stage.key}'s plate (${quantity(idle.volts[stage.plate ?? nets[0]], "V")})${through}: a coupling ` +
      "capacitor belongs between them, and one that leaks does the same; where the two are meant to be direct-coupled, the cathode's " +
      "resistor is too small.",
    related: [
      ...wires.slice(0, 2).map((part) => relatedPart(part, `${part.reference} is on that plate`)),
      ...parts
        .slice(-1)
        .map((part) => relatedPart(part, comesFrom(circuit, idle, part, stage.plate ?? nets[0]))),
      relatedPart(stage.valve, `${stage.key} is the stage ahead`),
    ],
  };
}

const where = (volts: number): string =>
  volts > 0 ? `${quantity(volts, "V")} above its cathode` : `only ${quantity(-volts, "V")} below its cathode`;

/**
 * A direct-coupled follower or cathode-coupled stage: its cathode has gone up with the plate that holds its grid, straight or
 * through a resistor.
 */
function heldByPlate(section: Section, circuit: Circuit, idle: Solution): boolean {
  const { grid, cathode } = section;
  if (grid === undefined || cathode === undefined || !(idle.volts[cathode] > PULL_VOLTS)) return false;
  const own = netsWith(circuit, grid);
  const near = new Set(own);
  for (const net of own)
    for (const part of partsOn(circuit, net))
      if (part.kind === "resistor")
        for (const far of part.terminals.values()) for (const same of netsWith(circuit, far)) near.add(same);
  return amplifying(circuit).some(
    (other) => other.key !== section.key && other.plate !== undefined && near.has(other.plate),
  );
}

function leakOhms(section: Section, network: ReturnType<typeof networkOf>): number {
  const grid = section.grid;
  if (grid === undefined) return 0;
  return network.solve(new Map([[grid, 1]]), [grid], () => 0)?.[0] ?? 0;
}
