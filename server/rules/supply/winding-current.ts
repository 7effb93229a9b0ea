import type { NetIndex, Winding } from "../../circuit/model.ts";
import { heaterVolts } from "../../facts/heaters.ts";
import { musicDraw, plateStopper, roundRating } from "../../facts/practice.ts";
import { rmsByDirect, windingFactor } from "../../facts/supply.ts";
import { limit, netsOf, partsOn, quantity, relatedPart, worst } from "../frame/index.ts";
import type { Finding, Rule, RuleContext } from "../rule.ts";
import { directFactor } from "../shared/direct-factor.ts";
import { practice } from "../shared/margin.ts";
import { netsWith } from "../shared/nodes.ts";
import { drivenSupply } from "./driven.ts";
import { loadsOf, secondaries } from "./heaters.ts";

export const windingCurrent: Rule = {
  id: "supply/winding-current",
  severity: "error",
  sentence: "The winding carries more current than it is wound for.",
  why: "It is the rms current that heats it, and a capacitor-input supply draws far more of that than of dc.",
  source:
    "the winding's rated current, rms; of one half when centre-tapped (IEC 61558-1); dc ratings against the direct current, or by a maker's " +
    "published factors",
  quiet:
    "Quiet up to 3 % over, since ratings are round figures, and on heaters that draw more only for standing up to 5 % high. What only a full-drive sine brings about is told past a quarter over, " +
    "since music draws less, and as advice below. A winding without a written current is unchecked.",
  bad: `amp "Too much for 60 mA"
transformer T1 100VA {
  primary 230V 10R             { a b }
  ht      250-0-250V 60mA 200R { htA gnd htB }
}
htA -- diode D1 1N4007 -- HT
htB -- diode D2 1N4007 -- HT
HT -- capacitor C1 47u 500V electrolytic -- gnd
HT -- resistor R1 3k 100W wirewound -- gnd
`,
  good: `amp "Wound for it"
transformer T1 100VA {
  primary 230V 10R              { a b }
  ht      250-0-250V 150mA 200R { htA gnd htB }
}
htA -- diode D1 1N4007 -- HT
htB -- diode D2 1N4007 -- HT
HT -- capacitor C1 47u 500V electrolytic -- gnd
HT -- resistor R1 3k 100W wirewound -- gnd
`,
  leads: [
    { rule: "supply/transformer-load", sharing: "part", manner: "mark" },
    { rule: "supply/ripple", sharing: "any", manner: "mark" },
    { rule: "valve/bias-cold", sharing: "any", manner: "mark" },
  ],
  *check(context) {
    for (const { transformer, winding, key } of secondaries(context.circuit)) {
      yield;
      const most = worst(context.analysis, key, "rms", {
        states: ["standby", "idle", "drive"],
        levels: ["nominal"],
        tolerance: "nominal",
      });
      if (!most || most.value < 1e-4) continue;
      if (!winding.amps) {
        context.unchecked(transformer.reference, `current of ${key} (none written)`, winding.place);
        continue;
      }
      const found = held(context, winding, key, most);
      if (found) yield found;
    }
  },
};

function held(
  context: RuleContext,
  winding: Winding,
  key: string,
  most: NonNullable<ReturnType<typeof worst>>,
): Finding | undefined {
  const { circuit, analysis } = context;
  const feeds = feedsSupply(context, winding);
  // A rating in direct amperes is held against those that the supply draws; where they are not known, as rms by the published factor.
  const direct = winding.direct && feeds ? directAmps(context, winding, most) : undefined;
  const factor = winding.direct && direct === undefined ? directFactor(circuit, winding) : 1;
  const rating = (winding.amps?.value ?? 0) * factor;
  const allowed = rating * roundRating.share;
  const heaters = loadsOf(circuit, winding).length > 0;
  const [transformer] = key.split(".");
  const common = {
    on: [key, transformer],
    place: winding.place,
    says: direct === undefined ? `${key} carries an rms current of` : `${key} feeds a direct current of`,
    limitIs: winding.direct
      ? `rated ${direct === undefined ? `${quantity(winding.amps?.value ?? 0, "A")} dc, as rms` : "in direct current"}`
      : undefined,
    unit: "A" as const,
    mains: most.mains,
    estimate: most.estimate,
    ...practice(context, "transformer"),
    todo: "A winding of more current, or less load on it.",
    related: consumers(context, winding),
    source: winding.direct && direct === undefined ? windingFactor.centreTapped.source : undefined,
  };
  const now = direct ?? most.value;
  // What heaters draw more for standing a little high is the heaters' affair, not a load too many.
  const kept = now / (feeds ? 1 : over(context, winding, key, most)) <= allowed;
  const still = limit(context, windingCurrent, {
    ...common,
    value: kept ? Math.min(now, allowed) : now,
    limit: kept ? allowed : rating,
    state: most.state,
  });
  // Plates that draw too much load the windings of the supply, and no heater's.
  if (still && !feeds) return { ...still, apart: true };
  if (still || heaters || !feeds) return still;
  const more = drivenSupply(analysis, { winding }, ["nominal"]);
  if (!more || more.factor <= 1) return undefined;
  const value = now * more.factor ** (direct === undefined ? rmsByDirect.exponent : 1);
  return limit(context, windingCurrent, {
    ...common,
    margin: undefined,
    value,
    limit: value > allowed ? rating : allowed,
    state: "drive",
    note: `sine at full drive; ${quantity(now, "A")} at idle`,
    severity: value > musicDraw.share * rating ? "warning" : "advice",
  });
}

type Most = NonNullable<ReturnType<typeof worst>>;

/** How far its volts are over the rated ones, up to what heaters are allowed; 1 where they are not. */
function over({ analysis }: RuleContext, winding: Winding, key: string, most: Most): number {
  const volts = most.state === undefined ? undefined : analysis.solution(most.state, "nominal");
  const now = volts?.readings.get(key)?.rmsVolts ?? Number.NaN;
  const ratio = now / winding.volts.value;
  return ratio > 1 ? Math.min(ratio, 1 + heaterVolts.warning.value) : 1;
}

/** Direct amperes that a winding's rectifiers pass on from it; undefined where none stands on it itself. */
function directAmps(context: RuleContext, winding: Winding, most: Most): number | undefined {
  const { circuit, analysis } = context;
  const readings = most.state === undefined ? undefined : analysis.solution(most.state, "nominal")?.readings;
  const behind = new Set(winding.nets.flatMap((net) => netsBehind(context, net)));
  const arms = [...new Set([...behind].flatMap((net) => partsOn(circuit, net)))].flatMap((part) => {
    const on = (name: string) => behind.has(part.terminals.get(name) ?? -1);
    if (part.kind === "bridge")
      return [on("ac1") ? `${part.reference}.1` : [], on("ac2") ? `${part.reference}.2` : []].flat();
    if (part.kind === "diode") return on("anode") ? [part.reference] : [];
    if (part.kind !== "valve") return [];
    return part.sections.flatMap(({ name, electrodes }) =>
      ["plate1", "plate2"].flatMap((plate) => {
        const net = electrodes.get(plate);
        const section = name === "" ? part.reference : `${part.reference}.${name}`;
        return net !== undefined && behind.has(net) ? [`${section}.${plate}`] : [];
      }),
    );
  });
  if (arms.length === 0) return undefined;
  const sum = arms.reduce((all, arm) => all + Math.abs(readings?.get(arm)?.amps ?? Number.NaN), 0);
  return Number.isNaN(sum) ? undefined : sum;
}

/** The nets of a winding's end, and those behind a resistor in the rectifier's lead; common is behind nothing. */
function netsBehind({ circuit }: RuleContext, net: NetIndex): readonly NetIndex[] {
  const common = circuit.ground === undefined ? [] : netsWith(circuit, circuit.ground);
  const own = netsWith(circuit, net);
  if (own.some((one) => common.includes(one))) return [];
  const through = own
    .flatMap((one) => partsOn(circuit, one))
    .flatMap((part) =>
      part.kind === "resistor" && part.ohms.value <= plateStopper.mostOhms
        ? [...part.terminals.values()]
        : [],
    )
    .filter((one) => !common.includes(one));
  return [...own, ...through.flatMap((one) => netsWith(circuit, one))];
}

/** True for a winding that feeds a rectifier of the high tension: the output stage's current passes it. */
export function feedsSupply(context: RuleContext, winding: Winding): boolean {
  return winding.volts.value > 60 && consumers(context, winding).length > 0;
}

function consumers(context: RuleContext, winding: Winding) {
  const { circuit } = context;
  // Through common hangs the whole amplifier, and none of it on this winding.
  const common = circuit.ground === undefined ? [] : netsWith(circuit, circuit.ground);
  const parts = winding.nets
    .flatMap((net) => netsWith(circuit, net))
    .filter((net) => !common.includes(net))
    .flatMap((net) => partsOn(circuit, net));
  const fed = [...new Set(parts)].filter(
    (part) =>
      ["valve", "diode", "bridge", "resistor", "lamp"].includes(part.kind) &&
      netsOf(part).length > 0 &&
      part.kind !== "lamp",
  );
  return fed.slice(0, 4).map((part) => relatedPart(part, `${part.reference} hangs on it`));
}
