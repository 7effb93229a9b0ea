/** A fuse behind the transformer: in the high tension's lead, or in a winding's. */
import type { Circuit, Fuse, NetIndex } from "../../circuit/model.ts";
import { fuseFigures, fuseSeries, fuseSeriesAmerican } from "../../facts/mains.ts";
import { rmsByDirect } from "../../facts/supply.ts";
import {
  factPlace,
  finding,
  limit,
  nextUp,
  quantity,
  relatedPart,
  type Worst,
  worst,
} from "../frame/index.ts";
import type { Finding, Rule, RuleContext } from "../rule.ts";
import { directFactor } from "../shared/direct-factor.ts";
import { networkOf } from "../shared/network.ts";
import { topologyOf } from "../shared/nodes.ts";
import { addedAmps, drivenSupply } from "../supply/driven.ts";
import { fedThrough } from "../supply/feeds.ts";
import { type Secondary, secondaries } from "../supply/heaters.ts";
import { feedsOf, windingBehind } from "../supply/high-tension.ts";
import { drivenFuse } from "./fuse-driven.ts";
import { rewritten, written } from "./fuse-words.ts";

interface Behind extends Secondary {
  /** In the winding's own lead, where rms counts; otherwise in the direct current that its rectifier gives. */
  readonly alternating: boolean;
  /** What the winding may give in the fuse's place for good; undefined where no current is written. */
  readonly amps?: number;
}

/** Below this nothing flows that a fuse would be for. */
const LEAST_AMPS = 1e-4;

/** Held below by what it carries, above by what the winding behind it may give. */
export function* secondaryFuse(context: RuleContext, rule: Rule, fuse: Fuse): Generator<Finding> {
  const { circuit } = context;
  const american = circuit.mains.region === "US" || circuit.mains.region === "CA";
  const series = american && !fuse.character ? fuseSeriesAmerican : fuseSeries;
  const behind = windingOf(context, fuse);
  const running = carried(context, fuse, ["low", "nominal", "high"]);
  const usual = carried(context, fuse, ["nominal"]);
  const driven = drivenOf(context, fuse, behind, usual?.value);
  const need = Math.max(Math.abs(running?.value ?? 0) * fuseFigures.least.value, driven ?? 0);
  const asked = need > LEAST_AMPS ? nextUp(need, series) : undefined;
  const todo = asked === undefined ? undefined : `Fit ${written(fuse, asked)}, time-lag.`;
  const fix = asked === undefined ? undefined : rewritten(fuse, asked);
  const place = factPlace(fuse, "amps");
  const related = behind && [relatedPart(behind.transformer, `${behind.key} feeds it`)];

  if (!running) context.unchecked(fuse.reference, "its value against what it carries", fuse.place);
  else if (Math.abs(running.value) > LEAST_AMPS) {
    const found = limit(context, rule, {
      on: fuse.reference,
      place,
      value: Math.abs(running.value),
      limit: fuse.amps.value,
      unit: "A",
      state: running.state,
      mains: running.mains,
      words: () => ({ says: `${fuse.reference} carries`, todo, related, fix }),
    });
    if (found) return yield found;
  }
  if (driven !== undefined) {
    const idleAmps = Math.abs(usual?.value ?? 0);
    const found = drivenFuse(context, rule, fuse, {
      on: [fuse.reference],
      amps: driven,
      idleAmps,
      todo,
      related,
      fix,
    });
    if (found) return yield found;
  }

  if (!behind) return;
  if (behind.amps === undefined) {
    context.unchecked(
      fuse.reference,
      `its value against ${behind.key} (no current written there)`,
      fuse.place,
    );
    return;
  }
  context.checked(fuse.reference);
  const most = nextUp(Math.max(fuseFigures.bound.value * behind.amps, need), series);
  if (most === undefined || fuse.amps.value <= most * (1 + 1e-9)) return;
  const fits = nextUp(fuseFigures.least.value * behind.amps, series);
  const is = behind.alternating
    ? `${behind.key} is wound for ${quantity(behind.amps, "A")}`
    : `${behind.key} may give ${quantity(behind.amps, "A")} of direct current`;
  yield finding(rule, {
    message:
      `${fuse.reference} is ${quantity(fuse.amps.value, "A")}, and ${is}: at most ${quantity(most, "A")} protects it. With a short behind ` +
      `the fuse, winding and rectifier burn before it blows.${fits === undefined ? "" : ` Fit ${written(fuse, fits)}, time-lag.`}`,
    on: [fuse.reference, behind.key, behind.transformer.reference],
    place,
    value: fuse.amps.value,
    limit: most,
    unit: "A",
    source: fuseFigures.bound.source,
    related,
    fix: fits === undefined ? undefined : rewritten(fuse, fits),
  });
}

/** rms where only windings meet in it, direct current otherwise. */
function carried(
  context: RuleContext,
  fuse: Fuse,
  levels: readonly ("low" | "nominal" | "high")[],
): Worst | undefined {
  const where = { states: ["standby", "idle"], levels, tolerance: "nominal" } as const;
  return (
    worst(context.analysis, fuse.reference, "rms", where) ??
    worst(context.analysis, fuse.reference, "amps", { ...where, seek: "size" })
  );
}

/** What full drive makes of it; undefined where drive adds nothing to what passes it. */
function drivenOf(
  context: RuleContext,
  fuse: Fuse,
  behind: Behind | undefined,
  now: number | undefined,
): number | undefined {
  const { circuit, analysis } = context;
  const still = Math.abs(now ?? Number.NaN);
  if (!(still > LEAST_AMPS)) return undefined;
  if (behind?.alternating) {
    const more = drivenSupply(analysis, { winding: behind.winding }, ["nominal"]);
    return more && more.factor > 1 ? still * more.factor ** rmsByDirect.exponent : undefined;
  }
  const idle = analysis.solution("idle", "nominal");
  const fed = fedThrough(circuit, fuse);
  const added = idle?.solved && fed.size > 0 ? addedAmps(analysis, idle, "nominal", fed) : 0;
  return added > 0 ? still + added : undefined;
}

/** The winding whose lead it stands in, or whose rectifier feeds it; undefined where there is none, or more than one. */
function windingOf(context: RuleContext, fuse: Fuse): Behind | undefined {
  const { circuit } = context;
  const { node } = topologyOf(circuit);
  const own = fuse.terminals.get("tip");
  if (own === undefined) return undefined;
  const all = [...secondaries(circuit)];
  const here = all.filter(({ winding }) => winding.nets.some((net) => isSame(circuit, node, net, own)));
  if (here.length === 1) {
    const [found] = here;
    // A direct rating is told of the direct current that the supply gives.
    const factor = found.winding.direct ? directFactor(circuit, found.winding) : 1;
    return { ...found, alternating: true, amps: found.winding.amps && found.winding.amps.value * factor };
  }
  if (here.length > 1) return undefined;
  const reached = networkOf(circuit).reachedFrom(own);
  const windings = new Set(
    feedsOf(circuit)
      .filter(({ to }) => reached.has(node[to]))
      .map(({ from }) => windingBehind(circuit, from)?.winding),
  );
  const found = windings.size === 1 ? all.find(({ winding }) => windings.has(winding)) : undefined;
  if (!found) return undefined;
  const factor = found.winding.direct ? 1 : directFactor(circuit, found.winding);
  return { ...found, alternating: false, amps: found.winding.amps && found.winding.amps.value / factor };
}

/** Circuit common is every winding's, and tells nothing. */
const isSame = (circuit: Circuit, node: Int32Array, a: NetIndex, b: NetIndex): boolean =>
  circuit.ground !== undefined && node[b] === node[circuit.ground] ? false : node[a] === node[b];
