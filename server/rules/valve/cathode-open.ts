import type { Circuit, NetIndex } from "../../circuit/model.ts";
import { cathodeWay } from "../../facts/practice.ts";
import { finding, listed, netName, partsOn, relatedPart } from "../frame/index.ts";
import type { Finding, Rule } from "../rule.ts";
import { type OpenCathode, openCathodes } from "../shared/cathode-way.ts";
import { amplifying, electrodePlace } from "../shared/sections.ts";

const stage = (name: string, load: string): string => `amp "${name}"
source B1 300V { plus: HT, minus: gnd }
HT -- resistor R1 47k 1W 500V -- p1
valve V1 ECC83 { a { plate: p1, grid: g1, cathode: k1 } }
k1 -- resistor R2 1k5 0.5W -- t1
g1 -- resistor R3 1M 0.5W -- t1
in -- capacitor C1 22n 400V film -- g1
in -- resistor R4 1M 0.5W -- gnd
p1 -- capacitor C2 22n 400V film -- o1 -- resistor R5 470k 0.5W -- gnd
t1 -- capacitor C3 22n 400V film -- o2 -- resistor R6 470k 0.5W -- gnd
${load}`;

export const cathodeOpen: Rule = {
  id: "valve/cathode-open",
  severity: "error",
  sentence: "The cathode reaches circuit common through nothing that carries its valve's current.",
  why:
    "A tail, load or cathode resistor is missing, or its net has the wrong name: the stage is dead, and its cathode climbs towards the " +
    "supply until the insulation to its heater has to hold all of it. What was computed behind it is of no amplifier.",
  source: cathodeWay.source,
  quiet:
    "Quiet where a resistor, choke, winding, diode, source or another valve takes the current on, where a switch or a jack does so in " +
    "one of its positions, and on a cathode's net that is named once (circuit/single-use-net tells that).",
  bad: stage("A load resistor left out", ""),
  good: stage("With its load resistor", "t1 -- resistor R7 47k 1W 500V -- gnd\n"),
  leads: [
    { rule: "circuit/no-dc-path", sharing: "part", manner: "attach" },
    { rule: "valve/heater-cathode", sharing: "part", manner: "attach" },
    { rule: "valve/grid-open", sharing: "part", manner: "attach" },
    { rule: "valve/grid-circuit-resistance", sharing: "part", manner: "mark" },
    { rule: "valve/pair-imbalance", sharing: "part", manner: "mark" },
    { rule: "valve/bias-cold", sharing: "any", manner: "mark" },
    { rule: "rating/capacitor-voltage", sharing: "part", manner: "mark" },
    { rule: "supply/discharge-path", sharing: "part", manner: "mark" },
    { rule: "circuit/not-solved", sharing: "any", manner: "mark" },
    { rule: "bench/reading", sharing: "any", manner: "mark" },
    { rule: "bench/reading-impossible", sharing: "any", manner: "mark" },
  ],
  *check(context) {
    for (const { valve, cathode } of amplifying(context.circuit)) {
      yield;
      if (cathode !== undefined) context.checked(valve.reference);
    }
    for (const open of openCathodes(context.circuit)) yield told(context.circuit, open);
  },
};

function told(circuit: Circuit, { sections, reached, grids }: OpenCathode): Finding {
  const keys = sections.map(({ key }) => key);
  const many = keys.length > 1;
  const [first] = sections;
  const nets = [...reached.keys()];
  const [cathode] = nets;
  const parts = [...new Set([...nets, ...grids].flatMap((net) => partsOn(circuit, net)))];
  const on = (net: NetIndex, kind: string) => partsOn(circuit, net).filter((part) => part.kind === kind);
  const capacitors = [...new Set(nets.flatMap((net) => on(net, "capacitor")))];
  const leaks = [...new Set(grids.flatMap((net) => on(net, "resistor")))].filter((part) =>
    nets.some((net) => partsOn(circuit, net).includes(part)),
  );
  const hanging = [
    ...(leaks.length > 0
      ? [
          `${listed(leaks.map(({ reference }) => reference))}, which ${leaks.length > 1 ? "lead" : "leads"} to ${many ? "their" : "its"} own ${grids.length > 1 ? "grids" : "grid"}`,
        ]
      : []),
    ...(capacitors.length > 0
      ? [
          `${listed(capacitors.map(({ reference }) => reference))}, which ${capacitors.length > 1 ? "pass" : "passes"} no direct current`,
        ]
      : []),
  ];
  // Where the missing part belongs: at the end of what stands in the cathode's lead.
  const last = nets
    .filter((net) => (reached.get(net) ?? 0) <= cathodeWay.mostOhms)
    .reduce((a, b) => ((reached.get(b) ?? 0) > (reached.get(a) ?? 0) ? b : a), cathode);
  return finding(cathodeOpen, {
    message:
      `The cathode${many ? "s" : ""} of ${listed(keys)} ${many ? "reach" : "reaches"} circuit common through nothing that carries ` +
      `${many ? "their" : "its"} current: from ${netName(circuit, cathode)} ` +
      `${hanging.length > 0 ? `there is only ${hanging.join(", and ")}` : "nothing leads there"}. A resistor from ${netName(circuit, last)} to ` +
      `common is missing (tail, load or bias), or a net has the wrong name; ${many ? "they are" : "it is"} dead, and ` +
      `${netName(circuit, cathode)} climbs towards the supply, against the heater${many ? "s" : ""}.`,
    on: [
      ...new Set([
        ...keys.map((key) => key.replace(/\..*$/, "")),
        ...keys.map((key) => `${key}.cathode`),
        ...nets.map((net) => netName(circuit, net)),
        ...grids.map((net) => netName(circuit, net)),
        ...parts.filter(({ kind }) => kind !== "valve").map(({ reference }) => reference),
      ]),
    ],
    place: circuit.nets[last].mentions[0] ?? electrodePlace(first, "cathode"),
    related: [
      ...sections.slice(0, 4).map(({ valve, key }) => relatedPart(valve, `${key}'s current has no way on`)),
      ...parts
        .filter(({ kind }) => kind !== "valve")
        .slice(0, 5)
        .map((part) => relatedPart(part, "hangs on it")),
    ],
  });
}
