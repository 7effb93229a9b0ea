import type { Capacitor } from "../../circuit/model.ts";
import { y4Volts } from "../../facts/mains.ts";
import { factPlace, finding, netName, netsOf, quantity, relatedNet } from "../frame/index.ts";
import type { Rule } from "../rule.ts";
import { MAINS_CAUTION } from "./caution.ts";
import { example } from "./example.ts";
import { type MainsSide, mainsSide } from "./graph.ts";
import { mainsCapacitors } from "./nets.ts";

export const lineCapacitor: Rule = {
  id: "mains/line-capacitor",
  severity: "error",
  sentence: "A capacitor on the mains is not of the class that its place asks for.",
  why:
    "An ordinary capacitor fails short. From the active to the chassis that makes the chassis live; across the mains it " +
    "burns. Class Y is built and tested to fail open, class X to stand the mains' impulses.",
  source: "IEC 60384-14: class X across the mains, class Y from the mains to metal",
  quiet:
    "Quiet on class Y anywhere (it may stand for class X), and on capacitors of the secondary side. A class that is " +
    "right without an alternating voltage rating is told as unchecked.",
  caution: MAINS_CAUTION,
  bad: example({
    name: "Ordinary capacitor to the chassis",
    rest: `h1 -- lamp LP1 6.3V 5A -- gnd
live -- capacitor C1 4n7 630V film -- chassis`,
  }),
  good: example({
    name: "Class Y to the chassis",
    rest: `h1 -- lamp LP1 6.3V 5A -- gnd
live -- capacitor C1 2n2 Y2 250VAC ceramic -- chassis`,
  }),
  // Of the wrong class it has to go, whatever current it passes.
  leads: [
    { rule: "mains/touch-current", sharing: "part", manner: "attach" },
    // Of the right class it may stand ahead of the fuse.
    { rule: "mains/fuse-first", sharing: "part", manner: "mark" },
  ],
  *check(context) {
    const side = mainsSide(context.circuit);
    if (!side) return;
    const mains = context.circuit.mains;
    for (const { capacitor, bridge } of mainsCapacitors(side)) {
      yield;
      const cls = capacitor.safetyClass;
      const [a, b] = [...capacitor.terminals.values()];
      const between = `between ${netName(side.circuit, a)} and ${netName(side.circuit, b)}`;
      context.checked(capacitor.reference);
      const needs = bridge === "to-metal" ? "Y" : "X";
      const right =
        bridge === "to-metal"
          ? cls?.startsWith("Y") && (cls !== "Y4" || mains.volts.high < y4Volts.value)
          : cls !== undefined;
      if (!right) {
        yield finding(lineCapacitor, {
          message:
            `${capacitor.reference} (${described(capacitor)}) stands ${between}, ${placed(side, capacitor, bridge)}, and is ` +
            `${cls ? `class ${cls}` : `not of class ${needs}`}: ${reason(bridge, cls)} ` +
            `${bridge === "to-metal" ? "Take it out, or fit a Y1 or Y2 part within the touch-current limit." : "Fit a class X2 part for the mains voltage."}`,
          on: [capacitor.reference],
          place: capacitor.place,
          related: [relatedNet(side.circuit, side.nets.has(a) ? a : b, "the mains comes to it here")],
        });
        continue;
      }
      // A class's voltage is an alternating one, whether or not the file says so.
      const rated = capacitor.voltsAlternating ?? capacitor.volts;
      if (!rated) {
        context.unchecked(capacitor.reference, "its alternating working voltage", capacitor.place);
      } else if (rated.value < mains.volts.nominal) {
        yield finding(lineCapacitor, {
          message:
            `${capacitor.reference} stands ${between} on ${quantity(mains.volts.nominal, "V")} mains; rated ` +
            `${quantity(rated.value, "V")} alternating, under it. Fit one for at least the nominal mains voltage.`,
          on: [capacitor.reference],
          place: factPlace(capacitor, "voltsAlternating", "volts"),
          value: mains.volts.nominal,
          limit: rated.value,
          unit: "V",
        });
      }
    }
  },
};

function described(capacitor: Capacitor): string {
  const facts = [quantity(capacitor.farads.value, "F")];
  if (capacitor.safetyClass) facts.push(capacitor.safetyClass);
  if (capacitor.volts) facts.push(`${quantity(capacitor.volts.value, "V")} dc`);
  if (capacitor.material) facts.push(capacitor.material);
  return facts.join(", ");
}

function placed(side: MainsSide, capacitor: Capacitor, bridge: "to-metal" | "across"): string {
  const nets = [...capacitor.terminals.values()];
  const contacts = side.switches.find(
    (part) => netsOf(part).filter((net) => nets.includes(net)).length === 2,
  );
  if (bridge === "across")
    return contacts
      ? `across ${contacts.reference}, which leaves it on the whole mains when off`
      : "across the mains";
  const on = (conductor: readonly number[]) => nets.some((net) => conductor.includes(net));
  const conductor = on(side.active) ? "active" : on(side.neutral) ? "neutral" : "mains";
  return `from the ${conductor} to the metalwork`;
}

function reason(bridge: "to-metal" | "across", cls: string | undefined): string {
  if (bridge === "across") return "when it fails short it burns, and it has passed no impulse test.";
  if (cls === "Y4") return `Y4 is for mains below ${y4Volts.value} V.`;
  if (cls) return "class X may fail short, and class X never replaces class Y.";
  return "when it fails short the metalwork is live.";
}
