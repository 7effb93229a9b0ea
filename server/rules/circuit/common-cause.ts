/** Many limits of voltage passed together have one cause: the winding or source that feeds them all is told first. */
import type { Circuit, NetIndex, Part, Place, Winding } from "../../circuit/model.ts";
import { finding, listed, netsOf, partsOf, partsOn, quantity, relatedPart } from "../frame/index.ts";
import type { Finding, Lead, Rule } from "../rule.ts";
import { netsWith } from "../shared/nodes.ts";

/** Rules that compare a voltage of the high tension with what a part stands. */
const VOLTAGE = [
  "rating/capacitor-voltage",
  "rating/resistor-voltage",
  "rating/diode-reverse",
  "rating/wire-voltage",
  "valve/plate-voltage",
  "valve/screen-voltage",
  "supply/rectifier-inverse",
];
/** What else a high tension that is too high drives past its limit. */
const DRIVEN = [
  "valve/heater-cathode",
  "valve/plate-dissipation",
  "valve/screen-dissipation",
  "valve/cathode-current",
  "rating/resistor-power",
  "supply/rectifier-direct-current",
  "supply/rectifier-peak-current",
  "supply/plate-impedance",
  "supply/rectifier-hot-switch",
  "supply/winding-current",
  "supply/transformer-load",
  "output/plate-peak",
  "output/transformer-power",
  "rating/speaker-power",
];
/** So many findings, on so many parts, are no coincidence. */
const FINDINGS = 4;
const PARTS = 3;

/** What a too high supply leads; they stay told, as its doing. */
export const ledBySupply: readonly Lead[] = [...VOLTAGE, ...DRIVEN].map((rule) => ({
  rule,
  sharing: "any",
  manner: "mark",
}));

export const commonCause: Rule = {
  id: "circuit/common-cause",
  severity: "advice",
  sentence:
    "Many limits of voltage are passed together: they have one cause, and this is where to look first.",
  why: "A winding that is not the right one makes twenty nets high. Changing twenty parts is then the wrong repair.",
  source: "common practice",
  quiet: `Quiet below ${FINDINGS} such errors on ${PARTS} parts, and where mains/primary-voltage or supply/unloaded already names the cause.`,
  bad: `amp "A supply too high"
source B1 700V { plus: HT1, minus: gnd }
HT1 -- resistor R1 220k 5W 1000V -- HT2
HT2 -- resistor R2 2M2 5W 1000V -- gnd
HT1 -- capacitor C1 100n 400V film -- gnd
HT1 -- capacitor C2 100n 400V film -- gnd
HT2 -- capacitor C3 100n 400V film -- gnd
HT2 -- capacitor C4 100n 400V film -- gnd
`,
  good: `amp "A supply that suits"
source B1 300V { plus: HT1, minus: gnd }
HT1 -- resistor R1 220k 5W 1000V -- HT2
HT2 -- resistor R2 2M2 5W 1000V -- gnd
HT1 -- capacitor C1 100n 400V film -- gnd
HT1 -- capacitor C2 100n 400V film -- gnd
HT2 -- capacitor C3 100n 400V film -- gnd
HT2 -- capacitor C4 100n 400V film -- gnd
`,
  leads: ledBySupply,
  // Told by the runner, once every rule has spoken.
  check: () => [],
};

/** The finding that leads, where there is one. */
export function commonCauseOf(circuit: Circuit, found: readonly Finding[]): Finding | undefined {
  const high = found.filter(
    ({ rule, severity, value, limit }) =>
      severity === "error" && VOLTAGE.includes(rule) && Math.abs(value ?? 0) > Math.abs(limit ?? Number.NaN),
  );
  const parts = [...new Set(high.map((entry) => entry.on[0]))].filter(
    (reference) => !onNegative(circuit, circuit.partByReference.get(reference)),
  );
  if (high.filter(({ on }) => parts.includes(on[0])).length < FINDINGS || parts.length < PARTS)
    return undefined;
  const led = found.some(
    ({ rule, value, limit }) =>
      rule === "supply/unloaded" || (rule === "mains/primary-voltage" && (value ?? 0) < (limit ?? 0)),
  );
  const feed = led ? undefined : feedOf(circuit);
  if (!feed) return undefined;
  const { share, apart } = sharedBy(high);
  const keeps = apart.length > 0 ? `all but ${listed(apart)}` : "them all";
  return finding(commonCause, {
    message:
      `${high.length} limits of voltage are passed together (${listed(parts)}), all behind ${feed.name} of ` +
      `${feed.written}: look at it first. About ${quantity(feed.volts * share, "V", 2)} there would keep ${keeps}; if it is ` +
      "as written, the parts are the wrong ones for it.",
    on: [feed.name, feed.part.reference],
    place: feed.place,
    value: feed.volts,
    limit: feed.volts * share,
    unit: "V",
    related: high.map((entry) =>
      relatedPart(circuit.partByReference.get(entry.on[0]), `passes ${entry.rule}`),
    ),
  });
}

/** A part that would ask for less than this much of what the middle one asks for is wrong by itself. */
const APART = 0.8;

/** The part of the volts at which all of them would be kept, but for those few that stand apart. */
function sharedBy(high: readonly Finding[]): { readonly share: number; readonly apart: readonly string[] } {
  const shares = high
    .map(({ on, value, limit }) => ({ on: on[0], share: Math.abs((limit ?? 0) / (value ?? 1)) }))
    .sort((a, b) => a.share - b.share);
  const middle = shares[shares.length >> 1].share;
  const apart = shares.filter(({ share }) => share < APART * middle);
  const together = apart.length <= shares.length / 3 ? shares.slice(apart.length) : shares;
  return {
    share: together[0].share,
    apart: together === shares ? [] : [...new Set(apart.map(({ on }) => on))],
  };
}

/** An electrolytic with its plus on common is of the bias supply, which the high tension says nothing about. */
function onNegative(circuit: Circuit, part: Part | undefined): boolean {
  const plus = part?.kind === "capacitor" && part.polarised ? part.terminals.get("plus") : undefined;
  return plus !== undefined && plus === circuit.ground;
}

interface Feed {
  readonly part: Part;
  readonly name: string;
  readonly written: string;
  /** rms of a half where it is centre-tapped; dc of a source. */
  readonly volts: number;
  readonly place: Place;
}

/** The winding of most volts that a rectifier stands on, else the source of most volts. */
function feedOf(circuit: Circuit): Feed | undefined {
  const windings = partsOf(circuit, "transformer").flatMap((part) =>
    part.secondaries
      .filter((winding) => winding.nets.some((net) => rectified(circuit, net)))
      .map((winding): Feed => {
        const middle = middleOf(circuit, winding);
        const tapped = middle !== undefined;
        const sum = (segments: readonly number[]) =>
          segments.reduce((all, segment) => all + Math.abs(segment), 0);
        const volts = tapped
          ? Math.max(sum(winding.segmentVolts.slice(0, middle)), sum(winding.segmentVolts.slice(middle)))
          : winding.volts.value;
        return {
          part,
          name: `${part.reference}.${winding.name}`,
          written: `${quantity(volts, "V")}${tapped ? " a half" : ""}`,
          volts,
          place: winding.place,
        };
      }),
  );
  const sources = partsOf(circuit, "source").map(
    (part): Feed => ({
      part,
      name: part.reference,
      written: quantity(part.volts.value, "V"),
      volts: part.volts.value,
      place: part.place,
    }),
  );
  const most = (feeds: readonly Feed[]) =>
    feeds.length === 0 ? undefined : feeds.reduce((a, b) => (Math.abs(b.volts) > Math.abs(a.volts) ? b : a));
  return most(windings) ?? most(sources);
}

/** The tap that stands for a winding's middle: the one on common where it has several, as beside a bias tap. */
function middleOf(circuit: Circuit, { nets }: Winding): number | undefined {
  const common = circuit.ground === undefined ? [] : netsWith(circuit, circuit.ground);
  const inner = nets.map((_, index) => index).slice(1, -1);
  return inner.find((index) => common.includes(nets[index])) ?? (nets.length === 3 ? 1 : undefined);
}

/** True where a rectifier stands on the net, or behind one resistor or fuse. */
function rectified(circuit: Circuit, net: NetIndex, further = true): boolean {
  return partsOn(circuit, net).some((part) => {
    if (part.kind === "diode" || part.kind === "bridge") return true;
    if (part.kind === "valve") {
      return part.sections.some(
        ({ electrodes }) => electrodes.get("plate1") === net || electrodes.get("plate2") === net,
      );
    }
    if (!further || (part.kind !== "resistor" && part.kind !== "fuse")) return false;
    return netsOf(part).some((to) => to !== net && rectified(circuit, to, false));
  });
}
