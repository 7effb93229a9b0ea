/** From a name in the text to the net or part that it means, inside blocks too. */
import type { Circuit, NetIndex, Part, Valve } from "../circuit/model.ts";
import { bookOf } from "../facts/valves/book.ts";
import { sectionMeant } from "../facts/valves/sections.ts";
import type { Occurrence } from "./occurrences.ts";

/**
 * A net by its name. Inside a block's statements the name stands for one net in every use; the first use is taken.
 * A dotted name that is a terminal (`V1.a.plate`) gives the net that it sits on.
 */
export function resolveNet(
  circuit: Circuit,
  occurrence: Pick<Occurrence, "text" | "range" | "block">,
): NetIndex | undefined {
  const direct = circuit.netByName.get(occurrence.text);
  if (direct !== undefined && occurrence.block === undefined) return direct;
  for (const net of circuit.nets) {
    if (
      net.mentions.some(
        (place) => place.range.start === occurrence.range.start && place.range.end === occurrence.range.end,
      )
    ) {
      if (net.name === occurrence.text || net.name.endsWith(`.${occurrence.text}`)) return net.index;
    }
  }
  return direct ?? terminalNet(circuit, occurrence.text);
}

/** `V1.a.plate`, `F1.tip`, `T1.ht.1`: the part's reference, then the terminal. */
export function terminalNet(circuit: Circuit, name: string): NetIndex | undefined {
  for (let dot = name.indexOf("."); dot > 0; dot = name.indexOf(".", dot + 1)) {
    const part = circuit.partByReference.get(name.slice(0, dot));
    if (part === undefined) continue;
    const terminal = name.slice(dot + 1);
    const net = part.terminals.get(terminal) ?? part.terminals.get(ofSection(circuit, part, terminal));
    if (net !== undefined) return net;
  }
  return undefined;
}

/** A terminal with its section by the name that the circuit has for it: `b.plate` of an ECL82 is `pentode.plate`. */
function ofSection(circuit: Circuit, part: Part, terminal: string): string {
  const dot = terminal.indexOf(".");
  if (part.kind !== "valve" || dot < 0) return terminal;
  return `${sectionOf(circuit, part, terminal.slice(0, dot))}${terminal.slice(dot)}`;
}

/** The section of a valve that a word means, as the circuit names it; the word itself where it means none. */
export function sectionOf(circuit: Circuit, part: Valve, word: string): string {
  const facts = part.type === undefined ? undefined : bookOf(circuit).find(part.type);
  return (
    (facts &&
      sectionMeant(
        facts.sections.map(({ name }) => name),
        word,
      )) ??
    word
  );
}

/** A part by its reference, a section's (`V1.a` gives V1), a terminal's, or a block's inner one. */
export function resolveReference(
  circuit: Circuit,
  occurrence: Pick<Occurrence, "text" | "range" | "block">,
): Part | undefined {
  let name = occurrence.text;
  while (name !== "") {
    const part = circuit.partByReference.get(name);
    if (part) return part;
    const dot = name.lastIndexOf(".");
    if (dot < 0) break;
    name = name.slice(0, dot);
  }
  return circuit.parts.find(
    (part) =>
      part.referencePlace.range.start === occurrence.range.start &&
      part.referencePlace.range.end === occurrence.range.end,
  );
}

/** Every terminal that sits on a net, as `R5.a`; a two-terminal part is named by its reference alone. */
export function hangsOn(
  circuit: Circuit,
  net: NetIndex,
): readonly { readonly part: Part; readonly terminal: string }[] {
  const found: { part: Part; terminal: string }[] = [];
  for (const part of circuit.parts) {
    for (const [terminal, index] of part.terminals) if (index === net) found.push({ part, terminal });
  }
  return found;
}
