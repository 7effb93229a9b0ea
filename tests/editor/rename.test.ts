import { describe, expect, test } from "vitest";
import { prepareRename, rename } from "../../server/editor/rename.ts";
import { applied, marked, open } from "./marked.ts";

/** Two stages of one block, a valve whose sections are passed to them, and aliases of their nets. */
const STAGES = `amp "Two stages"
block gain(i, o, ht, v) {
  valve v { plate: o, grid: i, cathode: k }
  ht -- resistor R1 100k 0.5W -- o
  k -- resistor R2 1k5 -- gnd
  k -- capacitor C1 25u 25V electrolytic -- v.cathode
}
valve V1 ECC83 { heater: h1 h2 }
source B1 250V { plus: HT, minus: gnd }
use gain(in, mid, HT, V1.a) as N
use gain(mid, out, HT, V1.b) as M
in -- resistor R3 1M -- gnd
out -- resistor R4 1M -- M.k
V1.a.plate -- capacitor C2 22n 400V film -- mid
measured N.k 1.2V
measured V1.b.cathode 1.2V
measured mid 150V
waive rating/unrated on N.R1 because "a stage of old"
`;

function renamed(text: string, cursor: string, to: string, others: Record<string, string> = {}) {
  const { document, position } = marked(text.replace(cursor.replace("|", ""), cursor), others);
  const result = rename(document, position, to);
  if ("refused" in result) return { refused: result.refused };
  const texts = Object.fromEntries(
    [...document.result.sources].map(([file, source]) => [
      file,
      applied(source.text, result.edits.get(file) ?? []),
    ]),
  );
  return { texts, text: texts["main.ampnet"], prepared: prepareRename(document, position) };
}
const lines = (text: string | undefined, before: string) => {
  const old = before.split("\n");
  return (text ?? "").split("\n").filter((line, index) => line !== old[index]);
};

describe("a rename", () => {
  test("of a net outside a block leaves what the block calls it, and the terminals that sit on it", () => {
    const { text, prepared } = renamed(STAGES, "use gain(in, m|id", "middle");
    expect(prepared?.placeholder).toBe("mid");
    expect(lines(text, STAGES)).toEqual([
      "use gain(in, middle, HT, V1.a) as N",
      "use gain(middle, out, HT, V1.b) as M",
      "V1.a.plate -- capacitor C2 22n 400V film -- middle",
      "measured middle 150V",
    ]);
  });
  test("of a net that a block has a parameter of the same letters for, leaves the parameter", () => {
    const text = STAGES.replaceAll("(in, ", "(o, ").replace("in -- resistor", "o -- resistor");
    expect(lines(renamed(text, "|o -- resistor R3", "first").text, text)).toEqual([
      "use gain(first, mid, HT, V1.a) as N",
      "first -- resistor R3 1M -- gnd",
    ]);
  });
  test("of a parameter stays in its block, and of one that is a valve takes its terminals along", () => {
    expect(lines(renamed(STAGES, "block gain(i, |o", "plateNet").text, STAGES)).toEqual([
      "block gain(i, plateNet, ht, v) {",
      "  valve v { plate: plateNet, grid: i, cathode: k }",
      "  ht -- resistor R1 100k 0.5W -- plateNet",
    ]);
    expect(lines(renamed(STAGES, "valve |v {", "bottle").text, STAGES)).toEqual([
      "block gain(i, o, ht, bottle) {",
      "  valve bottle { plate: o, grid: i, cathode: k }",
      "  k -- capacitor C1 25u 25V electrolytic -- bottle.cathode",
    ]);
  });
  test("of a block's own net follows it to where it is named from outside, from either side", () => {
    const expected = [
      "  valve v { plate: o, grid: i, cathode: bias }",
      "  bias -- resistor R2 1k5 -- gnd",
      "  bias -- capacitor C1 25u 25V electrolytic -- v.cathode",
      "out -- resistor R4 1M -- M.bias",
      "measured N.bias 1.2V",
    ];
    expect(lines(renamed(STAGES, "cathode: |k }", "bias").text, STAGES)).toEqual(expected);
    expect(lines(renamed(STAGES, "measured N.|k", "bias").text, STAGES)).toEqual(expected);
  });
  test("of a part takes its sections and terminals along, in a block also where it is named from outside", () => {
    expect(lines(renamed(STAGES, "valve V|1", "V7").text, STAGES)).toEqual([
      "valve V7 ECC83 { heater: h1 h2 }",
      "use gain(in, mid, HT, V7.a) as N",
      "use gain(mid, out, HT, V7.b) as M",
      "V7.a.plate -- capacitor C2 22n 400V film -- mid",
      "measured V7.b.cathode 1.2V",
    ]);
    expect(lines(renamed(STAGES, "resistor R|1 100k", "R9").text, STAGES)).toEqual([
      "  ht -- resistor R9 100k 0.5W -- o",
      'waive rating/unrated on N.R9 because "a stage of old"',
    ]);
  });
  test("of a part at the top is not one of the same reference in a block", () => {
    const text = STAGES.replace("resistor R3", "resistor R2");
    expect(lines(renamed(text, "in -- resistor R|2", "R8").text, text)).toEqual([
      "in -- resistor R8 1M -- gnd",
    ]);
  });
  test("reaches included files", () => {
    const main =
      'source B1 300V { plus: HT, minus: gnd }\ninclude "stage.ampnet"\ntap -- resistor R9 1M -- gnd\n';
    const others = { "stage.ampnet": "HT -- resistor R1 100k 2W -- tap\n" };
    const { texts } = renamed(main, "t|ap --", "middle", others);
    expect(texts?.["stage.ampnet"]).toBe("HT -- resistor R1 100k 2W -- middle\n");
  });
  test.each([
    ["use gain(in, m|id", "out", "would join the two nets"],
    ["use gain(in, m|id", "gnd", "fixed meaning"],
    ["cathode: |k }", "o", "would join the two nets"],
    ["block gain(i, |o", "k", "would join the two nets"],
    ["measured N.|k", "i", "would join the two nets"],
    ["valve V|1", "R3", "another part"],
    ["resistor R|1 100k", "R2", "another part"],
    ["use gain(in, m|id", "1x", "no net name"],
    ["valve V|1", "V+", "no name for a part"],
  ])("is refused, and says why: %s to %s", (cursor, to, told) => {
    expect(renamed(STAGES, cursor, to).refused).toContain(told);
  });
  test("of a block's net to the name of one outside joins nothing", () => {
    expect(renamed(STAGES, "cathode: |k }", "mid").text).toContain("cathode: mid }");
  });
  test("leaves the circuit as it was, whatever is renamed", () => {
    for (const cursor of [
      "use gain(in, m|id",
      "cathode: |k }",
      "block gain(i, |o",
      "valve |v {",
      "valve V|1",
    ]) {
      const { text } = renamed(STAGES, cursor, "fresh");
      const now = open(text as string).result.circuit;
      const was = open(STAGES).result.circuit;
      expect(now.nets.length, cursor).toBe(was.nets.length);
      expect(now.problems.length, cursor).toBe(was.problems.length);
    }
  });
  test("is not offered on a terminal, a prefix, a type or gnd", () => {
    for (const cursor of ["V1.a.pl|ate --", "as |N", "-- M|.k", "EC|C83", "1k5 -- g|nd"]) {
      const { document, position } = marked(STAGES.replace(cursor.replace("|", ""), cursor));
      expect(prepareRename(document, position), cursor).toBeUndefined();
    }
  });
});
