import { limit, quantity, relatedPart } from "../frame/index.ts";
import type { Finding, Rule } from "../rule.ts";
import { alike } from "../shared/alike.ts";
import { topologyOf } from "../shared/nodes.ts";
import { electrodePlace } from "../shared/sections.ts";
import { ohmsUp, writeOhms } from "../shared/values.ts";
import { between, feeding, openVolts, rectifierValves, sourceOhms } from "./rectifiers.ts";

export const plateImpedance: Rule = {
  id: "supply/plate-impedance",
  severity: "error",
  sentence: "There is less resistance in each plate's supply than the rectifier's sheet asks for.",
  why: "The sheet's current and reservoir hold only with that much resistance ahead of each plate: without it the charging peaks and the first rush are past what the cathode can give.",
  source: "the rectifier's sheet: least effective supply impedance per plate, by rms volts",
  quiet:
    "Quiet at or above the published row for the rms volts (between rows by a straight line, below the first in proportion), " +
    "with choke input, and where no row is printed (unchecked). On an estimated winding it is a warning, not an error.",
  bad: `amp "An EZ81 on a stiff winding"
transformer T1 100VA {
  primary 230V 4R               { a b }
  ht      300-0-300V 120mA 40R  { htA gnd htB }
}
valve V1 EZ81 { plate1: htA, plate2: htB, cathode: HT }
HT -- capacitor C1 32u 500V electrolytic -- gnd
HT -- resistor R1 5k 100W wirewound -- gnd
`,
  good: `amp "With resistors in the plate leads"
transformer T1 100VA {
  primary 230V 4R               { a b }
  ht      300-0-300V 120mA 40R  { htA gnd htB }
}
htA -- resistor R2 220R 5W wirewound -- rA
htB -- resistor R3 220R 5W wirewound -- rB
valve V1 EZ81 { plate1: rA, plate2: rB, cathode: HT }
HT -- capacitor C1 32u 500V electrolytic -- gnd
HT -- resistor R1 5k 100W wirewound -- gnd
`,
  leads: [
    { rule: "supply/rectifier-peak-current", sharing: "part", manner: "mark" },
    { rule: "supply/rectifier-hot-switch", sharing: "part", manner: "mark" },
  ],
  *check(context) {
    const { circuit } = context;
    const all: Finding[] = [];
    for (const valve of rectifierValves(circuit)) {
      yield;
      if (valve.input !== "capacitor") continue;
      const rows = valve.facts?.leastSourceOhms ?? [];
      const place = electrodePlace(valve, valve.plates[0]?.name);
      const feeds = valve.plates.flatMap((plate) => {
        const feed = feeding(circuit, plate.net);
        return feed ? [{ plate, feed, ohms: sourceOhms(circuit, feed) }] : [];
      });
      if (feeds.length === 0) {
        if (valve.plates.some(({ net }) => topologyOf(circuit).node[net] === -1))
          context.unchecked(
            valve.valve.reference,
            "least supply impedance (its plates are on common, and the winding on its cathode)",
            place,
          );
        continue;
      }
      if (rows.length === 0) {
        context.unchecked(valve.valve.reference, "least supply impedance (none is published)", place);
        continue;
      }
      feeds.sort((a, b) => a.ohms - b.ohms);
      const [{ plate, feed, ohms }] = feeds;
      const rms = openVolts(circuit, feed);
      const table = rows.map((row) => [row.rmsVolts, row.ohms] as const);
      const least = between(table, rms, "proportional");
      const missing = least - ohms;
      const found = limit(context, plateImpedance, {
        on: [valve.valve.reference, plate.key],
        place,
        says: `${valve.key} has a supply impedance per plate of`,
        value: ohms,
        limit: least,
        limitIs: `the sheet asks at ${quantity(rms, "V")} rms for at least`,
        breach: "below",
        unit: "Ω",
        severity: feed.estimated ? "warning" : "error",
        note:
          feed.seriesOhms > 0
            ? `${quantity(feed.seriesOhms, "Ω")} of it in the plate's lead`
            : "winding and reflected primary",
        estimate: feed.estimated ? "rests on an estimated winding resistance" : undefined,
        todo: `Add ${writeOhms(ohmsUp(Math.max(1, missing)))} in each plate's lead, of a few watts.`,
        related: [relatedPart(feed.transformer, "the winding")],
        source: `${valve.facts?.type} sheet, ${rows[0].source}${rows[0].evidence === "memory" ? ", from memory" : ""}`,
      });
      if (found) all.push(found);
    }
    yield* alike(all);
  },
};
