import type { Circuit, NetIndex, Switch } from "../../circuit/model.ts";
import { directContact } from "../../facts/practice.ts";
import { openedAnalysis } from "../../physics/opened.ts";
import type { Solution } from "../../physics/results.ts";
import { switchPosition } from "../../physics/states.ts";
import { factPlace, limit, partsOf, quantity, solutions } from "../frame/index.ts";
import type { Rule } from "../rule.ts";
import { isDirect } from "../shared/direct.ts";

export const switchDc: Rule = {
  id: "rating/switch-dc",
  severity: "error",
  sentence: "A standby switch, or another in a direct-current path, breaks more dc than it is made for.",
  why:
    "An ac arc goes out at the next zero crossing; a dc arc burns on between the contacts until they weld or the body tracks. " +
    "A rating of 250 V ac says nothing about 450 V dc.",
  source: "the switch's rated dc voltage; ac ratings are not for dc (common practice)",
  quiet:
    "Quiet below 30 V, and on switches that break ac, the winding's or the mains. What pulsates without turning round counts " +
    "by its crest: a winding's centre tap, a rectifier ahead of its reservoir. A switch with an ac rating alone is a warning, since " +
    "that is how most amplifiers are built; with no rating at all it is unchecked. A switch that is not one for standby is held by the " +
    "contacts that stand open as the file has it, and by what its closed ones break when it is opened.",
  bad: `amp "An ac switch in the HT"
source B1 430V { plus: HT0, minus: gnd }
HT0 -- switch S1 standby 250V 3A -- HT1
HT1 -- resistor R1 47k 10W 500V -- gnd
`,
  good: `amp "A switch made for dc"
source B1 430V { plus: HT0, minus: gnd }
HT0 -- switch S1 standby dc 600V 3A -- HT1
HT1 -- resistor R1 47k 10W 500V -- gnd
`,
  *check(context) {
    for (const part of partsOf(context.circuit, "switch")) {
      yield;
      let { worst, found } = worstOpen(context.circuit, part, solutions(context.analysis));
      let opened = false;
      // Any other is closed in every state: what it breaks is found with it open.
      const idle = context.analysis.solution("idle", "high");
      const direct = idle?.solved ? directPoles(context.circuit, part, idle) : [];
      if (idle && direct.length > 0) {
        const open =
          direct.length < part.poles.length ? before(direct, idle) : whenOpened(context.circuit, part);
        if (open.found && open.worst > worst) {
          ({ worst, found } = open);
          opened = true;
        }
      }
      if (worst < directContact.volts || !found) continue;
      const common = {
        on: part.reference,
        place: factPlace(part, "voltsDirect", "volts"),
        says: `${part.reference} breaks`,
        value: worst,
        unit: "V" as const,
        state: found.state,
        mains: found.level,
        ...(opened && { stateWords: "when it is opened" }),
      };
      const asked = quantity(Math.ceil(worst / 50) * 50, "V");
      if (part.voltsDirect) {
        const over = limit(context, switchDc, {
          ...common,
          limit: part.voltsDirect.value,
          limitIs: "rated, dc,",
          todo: `A switch with a dc rating of ${asked}, or break the winding's ac instead.`,
        });
        if (over) yield over;
      } else if (part.volts) {
        const over = limit(context, switchDc, {
          ...common,
          limit: part.volts.value,
          limitIs: "rated, for ac only,",
          severity: "warning",
          todo: `A switch with a dc rating of ${asked}, or stand by another way.`,
        });
        if (over) yield over;
        else
          context.unchecked(
            part.reference,
            "dc voltage of the contacts (only an ac rating written)",
            part.referencePlace,
          );
      } else {
        context.unchecked(
          part.reference,
          "dc voltage of the contacts (no rating written)",
          part.referencePlace,
        );
      }
    }
  },
};

/** The most direct volts over any open contact of a switch, and the solution that has them. */
function worstOpen(circuit: Circuit, part: Switch, among: Iterable<Solution>): Open {
  let worst = 0;
  let found: Solution | undefined;
  for (const solution of among) {
    for (const [a, b] of openContacts(circuit, part, solution)) {
      const volts = directAcross(solution, a, b);
      if (volts !== undefined && volts > worst) {
        worst = volts;
        found = solution;
      }
    }
  }
  return { worst, found };
}

interface Open {
  readonly worst: number;
  readonly found: Solution | undefined;
}

/** What stands over its contacts with it open, and all else as at idle. */
function whenOpened(circuit: Circuit, part: Switch): Open {
  const at = openedAnalysis(circuit, part).solution("standby", "high");
  return at?.solved ? worstOpen(circuit, { ...part, duty: "standby" }, [at]) : { worst: 0, found: undefined };
}

/** Of a switch whose other poles take the supply away with them: what its contacts part from is what stood there before. */
function before(poles: readonly Pole[], idle: Solution): Open {
  let worst = 0;
  for (const { common } of poles)
    if (common !== undefined) worst = Math.max(worst, Math.abs(idle.volts[common]));
  return { worst, found: idle };
}

type Pole = Switch["poles"][number];

/** Poles of a switch, other than one for standby, that join two nets at direct volts, where it has a position that parts them. */
function directPoles(circuit: Circuit, part: Switch, idle: Solution): readonly Pole[] {
  if (part.duty === "standby" || !part.positions.includes("off")) return [];
  const now = switchPosition(circuit, part, "idle");
  return part.poles.filter(
    ({ common, throws }) =>
      common !== undefined &&
      throws.get(now) !== undefined &&
      Math.abs(idle.volts[common]) >= directContact.volts &&
      isDirect(idle, common),
  );
}

/** Pairs of nets that stand apart over an open contact in a solution's state. */
function openContacts(circuit: Circuit, part: Switch, solution: Solution): [NetIndex, NetIndex][] {
  const pairs: [NetIndex, NetIndex][] = [];
  const now = switchPosition(circuit, part, solution.state);
  for (const pole of part.poles) {
    if (pole.common === undefined) continue;
    for (const [position, net] of pole.throws) if (position !== now) pairs.push([pole.common, net]);
  }
  return pairs;
}

/**
 * The direct volts between two nets: steady ones by their average, and ones that pulsate against a steady net by their crest.
 * @returns undefined where they alternate, and where nothing fixes them
 */
function directAcross(solution: Solution, a: NetIndex, b: NetIndex): number | undefined {
  const { volts, peak, trough } = solution;
  if (Number.isNaN(volts[a] - volts[b])) return undefined;
  const [steadyA, steadyB] = [isDirect(solution, a), isDirect(solution, b)];
  if (steadyA && steadyB) return Math.abs(volts[a] - volts[b]);
  // Of two that both alternate only the bounds are known, not how they stand to each other.
  if (!steadyA && !steadyB) return undefined;
  const [moving, steady] = steadyA ? [b, a] : [a, b];
  const [low, high] = [trough[moving] - volts[steady], peak[moving] - volts[steady]];
  const [less, crest] = [Math.min(-low, high), Math.max(-low, high)];
  return less <= directContact.otherWay * crest ? crest : undefined;
}
