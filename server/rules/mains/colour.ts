import type { CordOrInlet, Place, Region } from "../../circuit/model.ts";
import { type ColourScheme, type Conductor, cordColours, everyColourScheme } from "../../facts/mains.ts";
import { called, factPlace, finding, listed, partsOf } from "../frame/index.ts";
import type { Finding, Rule, RuleContext } from "../rule.ts";
import { MAINS_CAUTION } from "./caution.ts";
import { example } from "./example.ts";
import { mainsSide } from "./graph.ts";

const ROLES: readonly Conductor[] = ["active", "neutral", "earth"];

export const colour: Rule = {
  id: "mains/colour",
  severity: "error",
  sentence: "A conductor of the cord has the colour of another role.",
  why:
    "The next person to open the amplifier reads the wires by their colours, and green-yellow means one thing only " +
    "everywhere: safe to touch.",
  source: "IEC 60445; NEC article 400; AS/NZS 3000 and 3191",
  quiet:
    "Quiet on the colours of internal wiring but for green-yellow. A complete older or foreign set that is met in the " +
    "region (red, black, green; or the harmonised set in North America) is a warning. Colours not said are unchecked.",
  caution: MAINS_CAUTION,
  bad: example({
    name: "Colours exchanged",
    cord: `cord W1 1.0mm2 anchored {
  active:  inA  60mm blue
  neutral: inN  60mm brown
  earth:   inE 110mm green-yellow
}`,
  }),
  good: example({ name: "Colours of the region" }),
  *check(context) {
    const side = mainsSide(context.circuit);
    for (const entry of side?.entries ?? []) yield* coloursOf(context, entry);
    yield* reservedElsewhere(context);
  },
};

function* coloursOf(context: RuleContext, entry: CordOrInlet): Generator<Finding> {
  const { region } = context.circuit.mains;
  const leads = ROLES.flatMap((role) => {
    const lead = entry.leads.get(role);
    return lead ? [{ role, lead, colour: lead.colour && plain(lead.colour) }] : [];
  });
  const missing = leads.filter((entry) => !entry.colour).map((entry) => entry.role);
  // The terminals of an inlet have no colour of their own.
  if (missing.length > 0 && entry.kind === "cord") {
    context.unchecked(entry.reference, `the colour of its ${listed(missing)}`, entry.place);
  }
  const said = leads.filter((lead) => lead.colour);
  if (said.length === 0) return;
  for (const { role } of said) context.checked(`${entry.reference}.${role}`);
  const fits = (scheme: ColourScheme) =>
    said.every(({ role, colour }) => scheme.colours[role].includes(colour ?? ""));
  const today = region && cordColours[region].today;
  if (today ? fits(today) : everyColourScheme.some(fits)) return;

  const met = region && cordColours[region].met.find(fits);
  if (met && said.length > 1) {
    yield finding(colour, {
      severity: "warning",
      message:
        `${entry.reference} has the colours ${met.name} (${met.source}), not the ${region} set of today, ` +
        `${today?.name}: mark it, or fit a new cord.`,
      on: [entry.reference],
      place: said[0].lead.place,
      source: today?.source,
    });
    return;
  }
  const scheme = today ?? nearest(said, region);
  for (const { role, lead, colour: is } of said) {
    const should = scheme.colours[role];
    if (should.includes(is ?? "")) continue;
    const reserved = is === "green-yellow";
    yield finding(colour, {
      message:
        `The ${role} of ${entry.reference} is ${lead.colour}; ${region ?? scheme.source} has ${should[0]} for it` +
        `${reserved ? ", and green-yellow is for the earth alone" : confused(scheme, role, is)}. ` +
        `Check which core is which with a meter, unplugged, and wire by the colours ${scheme.name}.`,
      on: [entry.reference, context.circuit.nets[lead.net]?.name ?? role],
      place: lead.place,
      source: scheme.source,
    });
  }
}

/** ", which is the neutral's colour" */
function confused(scheme: ColourScheme, role: Conductor, is: string | undefined): string {
  const other = ROLES.find((entry) => entry !== role && scheme.colours[entry].includes(is ?? ""));
  return other ? `, and ${is} is the ${other}'s` : "";
}

function nearest(
  said: readonly { role: Conductor; colour?: string }[],
  _region: Region | undefined,
): ColourScheme {
  const score = (scheme: ColourScheme) =>
    said.filter(({ role, colour }) => scheme.colours[role].includes(colour ?? "")).length;
  return everyColourScheme.reduce((a, b) => (score(b) > score(a) ? b : a));
}

/** Green-yellow on wires that are not part of the earth. */
function* reservedElsewhere(context: RuleContext): Generator<Finding> {
  const { circuit } = context;
  const side = mainsSide(circuit);
  const earthy = new Set<number>(side?.earthy ?? []);
  for (const net of [circuit.ground, circuit.chassis, ...circuit.metals.map((metal) => metal.net)]) {
    if (net !== undefined) earthy.add(net);
  }
  for (const wire of partsOf(circuit, "wire")) {
    if (!wire.colour || plain(wire.colour) !== "green-yellow") continue;
    context.checked(wire.reference);
    const nets = [...wire.terminals.values()];
    if (nets.every((net) => earthy.has(net))) continue;
    const place: Place = factPlace(wire, "colour");
    yield finding(colour, {
      message:
        `${called(circuit, wire)}${wire.unnamed ? "" : ` from ${nets.map((net) => circuit.nets[net]?.name).join(" to ")}`} is ` +
        "green-yellow, the colour of the protective earth alone. Use wire of another colour.",
      on: [wire.reference],
      place,
      source: "IEC 60445",
    });
  }
}

/** One word for a colour, however it is written. */
export function plain(written: string): string {
  const word = written
    .toLowerCase()
    .replace(/[\s/_]+/g, "-")
    .replace(/gray/g, "grey");
  const parts = word.split("-");
  if (parts.includes("green") && parts.includes("yellow")) return "green-yellow";
  return word;
}
