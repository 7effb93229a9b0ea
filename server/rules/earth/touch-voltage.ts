import type { Circuit, NetIndex } from "../../circuit/model.ts";
import { touchDirect } from "../../facts/mains.ts";
import { pluggedAnalysis, pluggedCircuit } from "../../physics/plugged.ts";
import type { Analysis } from "../../physics/results.ts";
import {
  finding,
  netName,
  partsOf,
  partsOn,
  quantity,
  relatedPart,
  type Worst,
  when,
  worstNet,
} from "../frame/index.ts";
import { MAINS_CAUTION } from "../mains/caution.ts";
import type { Rule } from "../rule.ts";
import { networkOf } from "../shared/network.ts";

export const touchVoltage: Rule = {
  id: "earth/touch-voltage",
  severity: "error",
  sentence: "A contact of a jack, or metal that can be touched, stands at a high direct voltage.",
  why:
    "A plug's tip is held in the hand while it is put in. A coupling capacitor that is missing, or a lead on the wrong net, puts the " +
    "HT there, with all that the reservoirs hold behind it.",
  source: touchDirect.source,
  quiet:
    "Looked at with and without plugs in the jacks. Quiet up to 60 V, and where so much resistance stands before the contact that it gives 2 mA at most; alternating volts of a " +
    "loudspeaker are another matter.",
  caution: MAINS_CAUTION,
  bad: `amp "A jack on the plate"
source B1 300V { plus: HT, minus: gnd }
HT -- resistor R5 100k 1W 350V -- p1
valve V1 ECC83 { a { plate: p1, grid: g1, cathode: k1 } }
k1 -- resistor R6 1k5 0.5W -- gnd
g1 -- resistor R1 1M 0.5W -- gnd
jack J1 { tip: p1, sleeve: gnd }
`,
  good: `amp "A jack behind its capacitor"
source B1 300V { plus: HT, minus: gnd }
HT -- resistor R5 100k 1W 350V -- p1
valve V1 ECC83 { a { plate: p1, grid: g1, cathode: k1 } }
k1 -- resistor R6 1k5 0.5W -- gnd
g1 -- resistor R1 1M 0.5W -- gnd
p1 -- capacitor C1 100n 630V film -- out
out -- resistor R2 470k 0.5W -- gnd
jack J1 { tip: out, sleeve: gnd }
`,
  *check(context) {
    const { circuit, analysis } = context;
    const plugged = pluggedCircuit(circuit);
    const contacts: { readonly on: string; readonly says: string; readonly net: NetIndex }[] = [];
    for (const jack of partsOf(circuit, "jack"))
      for (const [terminal, net] of jack.terminals)
        if (!terminal.endsWith("-break"))
          contacts.push({ on: jack.reference, says: `${jack.reference}'s ${terminal}`, net });
    for (const { net } of circuit.metals)
      contacts.push({
        on: netName(circuit, net),
        says: `${netName(circuit, net)}, metal that can be touched,`,
        net,
      });
    for (const { on, says, net } of contacts) {
      yield;
      if (net === circuit.ground || net === circuit.chassis) continue;
      const at = (solved: Analysis) => worstNet(solved, net, { tolerance: "nominal", seek: "size" });
      const without = at(analysis);
      if (without && !Number.isNaN(without.value)) context.checked(on);
      const gives = (most: Worst | undefined, of: Circuit) => {
        const volts = Math.abs(most?.value ?? Number.NaN);
        if (!(volts > touchDirect.volts)) return false;
        const ohms = networkOf(of).solve(new Map([[net, 1]]), [net], () => 0)?.[0] ?? 0;
        return !(ohms > 0 && volts / ohms <= touchDirect.amps);
      };
      let most = gives(without, circuit) ? without : undefined;
      let held = "";
      // What a break contact holds at common is let go by the plug that is put in.
      if (!most && plugged && hangsOnMore(plugged, net)) {
        const within = at(pluggedAnalysis(plugged));
        if (gives(within, plugged)) {
          most = within;
          held = ", as soon as a plug opens the break contact that holds it down";
        }
      }
      if (!most) continue;
      const volts = Math.abs(most.value);
      const part = circuit.partByReference.get(on);
      const place =
        part?.terminalPlaces.get([...part.terminals].find(([, own]) => own === net)?.[0] ?? "") ??
        part?.place;
      yield finding(touchVoltage, {
        message:
          `${says} stands at ${quantity(most.value, "V")} ${when(most.state, most.mains)} (${netName(circuit, net)})${held}: whoever touches it or the plug ` +
          `in it touches that; ${touchDirect.volts} V is the most that is left within reach. A coupling capacitor belongs before it, with a resistor to ` +
          "common behind, or its lead is on the wrong net.",
        on: [on, netName(circuit, net)],
        place: place ?? circuit.nets[net].mentions[0],
        state: most.state,
        mains: most.mains,
        value: volts,
        limit: touchDirect.volts,
        unit: "V",
        related: partsOn(circuit, net)
          .filter((other) => other !== part)
          .slice(0, 3)
          .map((other) => relatedPart(other, `${other.reference} is on the same net`)),
      });
    }
  },
};

/** True where resistance leads from a net to anything that holds volts, and not to common alone. */
function hangsOnMore(circuit: Circuit, net: NetIndex): boolean {
  const network = networkOf(circuit);
  const nets = [net, ...network.partsFrom(net).flatMap((part) => [...part.terminals.values()])];
  return nets.some((one) => network.nodeOf(one) !== -1 && network.held.has(network.nodeOf(one)));
}
