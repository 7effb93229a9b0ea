import { diodeVolts } from "../../facts/passives.ts";
import { factPlace, limit, quantity, relatedNet, type Worst, worst } from "../frame/index.ts";
import type { Fix, Rule } from "../rule.ts";
import { onMains } from "../shared/mains-side.ts";
import { practice } from "../shared/margin.ts";
import { nextOf, writeVolts } from "../shared/values.ts";
import { worstNear } from "../shared/worst-near.ts";
import { type SiliconDiode, siliconDiodes } from "./diodes.ts";

export const diodeReverse: Rule = {
  id: "rating/diode-reverse",
  severity: "error",
  sentence: "The diode blocks more volts than it is rated for.",
  why:
    "On a centre-tapped winding a diode blocks the whole winding's peak, twice the dc: past its rating it shorts, and the " +
    "transformer feeds the short until the fuse goes.",
  source: "repetitive peak inverse voltage of the part or its sheet",
  quiet:
    "Quiet up to 80 % of the rating at nominal mains (the rest is for transients), and on signal diodes that block nothing.",
  bad: `amp "400 V diodes on a centre-tapped winding"
transformer T1 60VA {
  primary 230V 20R               { a b }
  ht      250-0-250V 100mA 150R  { htA gnd htB }
}
htA -- diode D1 400V 1A -- HT
htB -- diode D2 400V 1A -- HT
HT -- capacitor C1 47u 450V electrolytic -- gnd
HT -- resistor R1 10k 25W wirewound -- gnd
`,
  good: `amp "Two in series a side"
transformer T1 60VA {
  primary 230V 20R               { a b }
  ht      250-0-250V 100mA 150R  { htA gnd htB }
}
htA -- diode D1 1000V 1A -- dA -- diode D2 1000V 1A -- HT
htB -- diode D3 1000V 1A -- dB -- diode D4 1000V 1A -- HT
HT -- capacitor C1 47u 450V electrolytic -- gnd
HT -- resistor R1 10k 25W wirewound -- gnd
`,
  *check(context) {
    for (const diode of siliconDiodes(context.circuit)) {
      yield;
      if (onMains(context.circuit, diode.part)) continue;
      const rating = diode.part.volts?.value ?? diode.limits?.inverseVolts;
      const most = furthest(diode.keys.map((key) => worstNear(context.analysis, key, "inverse", rating)));
      if (!most || most.value < 1) continue;
      if (rating === undefined) {
        context.unchecked(
          diode.part.reference,
          "inverse voltage (no rating written)",
          diode.part.referencePlace,
        );
        continue;
      }
      const shared = {
        on: diode.part.reference,
        place: factPlace(diode.part, "volts", "type"),
        says: `${diode.part.reference} blocks`,
        limit: rating,
        unit: "V" as const,
        related: [...diode.part.terminals.values()].map((net) =>
          net === context.circuit.ground
            ? undefined
            : relatedNet(context.circuit, net, "it hangs on this net"),
        ),
        source: diode.part.volts ? undefined : `${diode.part.kind} sheet, ${diode.limits?.source}`,
      };
      const usual = furthest(
        diode.keys.map((key) =>
          worst(context.analysis, key, "inverse", { levels: ["nominal"], tolerance: "nominal" }),
        ),
      );
      const kept = practice(context, "diode");
      // What is put in should keep the margin as well.
      const asks = Math.max(most.value, (usual?.value ?? 0) / kept.margin);
      const found = limit(context, diodeReverse, { ...shared, ...at(most), ...remedy(diode, asks) });
      if (found) {
        yield found;
        continue;
      }
      const near =
        usual &&
        limit(context, diodeReverse, {
          ...shared,
          ...at(usual),
          ...kept,
          ...remedy(diode, usual.value / kept.margin),
        });
      if (near) yield near;
    }
  },
};

const at = (most: Worst) => ({
  value: most.value,
  state: most.state,
  mains: most.mains,
  estimate: most.estimate,
});

export function furthest(all: readonly (Worst | undefined)[]): Worst | undefined {
  return all.reduce((most, next) => (next && (!most || next.value > most.value) ? next : most), undefined);
}

function remedy(diode: SiliconDiode, volts: number): { todo: string; fix?: Fix } {
  const next = nextOf(diodeVolts, volts);
  const place = diode.part.factPlaces.get("volts");
  return {
    todo:
      next === undefined
        ? "Two or more in series in its place."
        : `Next standard rating: ${quantity(next, "V")}; or two in series in its place.`,
    fix:
      next !== undefined && place
        ? { title: `Make ${diode.part.reference} ${next} V`, edits: [{ place, text: writeVolts(next) }] }
        : undefined,
  };
}
