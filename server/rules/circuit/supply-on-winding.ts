/** A rectifier whose output is on a winding that leads to common: the high tension is shorted through its few ohms. */
import type { Circuit, NetIndex, Place, Winding } from "../../circuit/model.ts";
import { called, netName, relatedPart } from "../frame/index.ts";
import type { Related } from "../rule.ts";
import { secondaries } from "../supply/heaters.ts";
import { feedsOf, windingBehind } from "../supply/high-tension.ts";
import { rectifierValves } from "../supply/rectifiers.ts";

export interface SupplyOnWinding {
  readonly message: string;
  readonly on: readonly string[];
  readonly place: Place;
  readonly related: readonly (Related | undefined)[];
}

/**
 * @param root nets that wires, fuses and closed switches make one
 * @param joiners parts on the way between two such nets
 */
export function* suppliesOnWindings(
  circuit: Circuit,
  root: (net: NetIndex) => NetIndex,
  joiners: (from: NetIndex, to: NetIndex) => readonly { readonly reference: string }[],
): Generator<SupplyOnWinding> {
  if (circuit.ground === undefined) return;
  const common = root(circuit.ground);
  const told = new Set<string>();
  for (const { part, from, to } of feedsOf(circuit)) {
    if (told.has(part.reference) || root(to) === common) continue;
    const own = windingBehind(circuit, from)?.winding;
    if (!own) continue;
    for (const { transformer, winding, key } of secondaries(circuit)) {
      // Back into its own winding leads the other half of a bridge.
      if (winding === own || !winding.nets.some((net) => root(net) === root(to))) continue;
      const end = winding.nets.find((net) => root(net) === common);
      if (end === undefined) continue;
      told.add(part.reference);
      const through = end === circuit.ground ? [] : joiners(end, circuit.ground);
      const by = through[0] && circuit.partByReference.get(through[0].reference);
      const onCommon =
        end === circuit.ground
          ? "on common"
          : `(${netName(circuit, end)}) on common${by ? ` by ${called(circuit, by)}` : ""}`;
      const rectifier = rectifierValves(circuit).find(({ valve }) => valve === part);
      const cathode = rectifier?.section.electrodePlaces.get("cathode");
      yield {
        message:
          `${part.reference}'s cathode (${netName(circuit, to)}) is on ${key}, another point of which is ${onCommon}: through the winding the whole ` +
          `supply is shorted, and nothing comes to what it feeds. ${remedy(circuit, rectifier, winding)}`,
        on: [part.reference, key, transformer.reference, ...(by ? [by.reference] : [])],
        place: cathode ?? part.place,
        related: [
          { on: key, message: "the winding that leads to common", place: winding.place },
          relatedPart(by, "ties it to common"),
        ],
      };
      break;
    }
  }
}

type Rectifier = ReturnType<typeof rectifierValves>[number];

function remedy(circuit: Circuit, rectifier: Rectifier | undefined, wrong: Winding): string {
  if (rectifier?.facts?.heating !== "direct")
    return "Its cathode belongs on the reservoir, and on no winding that is tied to common.";
  const heater = rectifier.valve.heater?.nets ?? [];
  if (heater.some((net) => wrong.nets.includes(net)))
    return "Its filament is its cathode, and asks for a winding of its own that nothing else ties to common.";
  const [first] = heater;
  return first === undefined
    ? "Its cathode is its filament: it belongs on the winding that heats it."
    : `Its cathode is its filament: it belongs on the winding that heats it (${netName(circuit, first)}).`;
}
