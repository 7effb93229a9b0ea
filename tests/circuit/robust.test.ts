import { readdirSync, readFileSync } from "node:fs";
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { parse } from "../../grammar/parse.ts";
import type { Tree } from "../../grammar/tree.ts";
import { buildCircuit } from "../../server/circuit/build.ts";
import type { Circuit } from "../../server/circuit/model.ts";

const folder = new URL("../../samples/", import.meta.url);
const samples = readdirSync(folder)
  .filter((name) => name.endsWith(".ampnet"))
  .map((name) => [name, readFileSync(new URL(name, folder), "utf8")] as const);

const everything = `amp "All of it"
mains 240 V 50 Hz AU
assume ambient 50C
assume derate resistor 50%
include "part.ampnet"
block gain(in, out, ht, v) {
  valve v { plate: out, grid: in, cathode: k }
  ht -- resistor R1 100k 1W -- out
  v.cathode -- resistor R2 1k5 0.5W -- gnd
}
valve V1 ECC83 { heater: h1 h2 series }
use gain(in1, p1, HT3, V1.a) as N
use gain(p1, V2.grid, HT3, V1.b) as M
valve V2 EL84 { plate: pA, screen: HT2, cathode: kO, heater: h1 h2 }
transformer T1 80VA { primary 0-220-240V 14R { inN a live }, ht 300-0-55-300V 120mA dc { htA gnd tap htB } }
output-transformer T2 20W { plates 5k 60mA { pA HT1 }, speaker 4R-8R-16R { gnd s4 s8 s16 } }
switch S1 mains dpst 250V 6A { 1 { common: fused, on: live }, 2 { common: inN, on: neutral } }
N.k -- capacitor C1 25u 25V electrolytic -- gnd
T1.ht.1 -- diode D1 1N4007 -- HT1
metal panel
measured V2.cathode 11.2V at mains 236V
measured insulation 250M at 500V
waive rating/resistor-power on N.R2 because "see the bench" until 2027-03-01
`;
const part = "HT3 -- resistor R9 10k 1W -- HT2\npanel -- bond E1 own-fixing -- chassis\n";

/** What every circuit holds, whatever text it came from. */
function expectSound(circuit: Circuit, texts: Readonly<Record<string, string>>): void {
  const count = circuit.nets.length;
  const isNet = (net: number) => Number.isInteger(net) && net >= 0 && net < count;
  const isPlace = ({ file, range }: { file: string; range: { start: number; end: number } }) =>
    file in texts && range.start >= 0 && range.start <= range.end && range.end <= texts[file].length;
  circuit.nets.forEach((net, index) => {
    if (net.index !== index) throw new Error(`net ${net.name} is at ${index}`);
    if (circuit.netByName.get(net.name) !== index)
      throw new Error(`net ${net.name} is not found by its name`);
    if (!net.mentions.every(isPlace)) throw new Error(`a mention of ${net.name} is nowhere`);
  });
  const references = new Set(circuit.parts.map((one) => one.reference));
  if (references.size !== circuit.parts.length) throw new Error("two parts share a reference");
  for (const one of circuit.parts) {
    for (const net of one.terminals.values())
      if (!isNet(net)) throw new Error(`${one.reference} sits on no net`);
    for (const place of [
      one.place,
      one.referencePlace,
      ...one.terminalPlaces.values(),
      ...one.factPlaces.values(),
    ])
      if (!isPlace(place)) throw new Error(`a place of ${one.reference} is nowhere`);
    if (one.kind === "transformer") {
      for (const winding of [one.primary, ...one.secondaries]) {
        if (!winding) continue;
        if (winding.segmentVolts.length !== winding.nets.length - 1)
          throw new Error(`${winding.name}: segments`);
        if (!(winding.ohms.value >= 0) || !winding.segmentVolts.every((volts) => volts >= 0))
          throw new Error(`${winding.name}: numbers`);
      }
    }
    if (one.kind === "resistor" && !(one.ohms.value >= 0)) throw new Error(`${one.reference}: ohms`);
  }
  for (const found of circuit.problems) {
    if (!isPlace(found.place)) throw new Error(`"${found.message}" is nowhere`);
    if (!/^circuit\/[a-z-]+$/.test(found.rule)) throw new Error(`${found.rule} is no rule`);
    if (!found.message.endsWith(".") && !found.message.endsWith("?"))
      throw new Error(`"${found.message}" is no sentence`);
    if (/undefined|NaN|\[object/.test(found.message)) throw new Error(`"${found.message}"`);
    for (const related of found.related ?? [])
      if (!isPlace(related.place)) throw new Error(`related to "${found.message}": nowhere`);
  }
  const { low, nominal, high } = circuit.mains.volts;
  if (!(low <= nominal && nominal <= high && low > 0)) throw new Error("mains volts");
}

function check(text: string): Circuit {
  const texts = { "main.ampnet": text, "part.ampnet": part };
  const { circuit } = buildCircuit("main.ampnet", text, parse(text), (file) =>
    file === "part.ampnet" ? part : undefined,
  );
  expectSound(circuit, texts);
  return circuit;
}

describe("any text builds without a throw, into a circuit that holds together", () => {
  it("whole, without a word", () => {
    expect(check(everything).problems.map((problem) => problem.message)).toEqual([]);
    for (const [name, text] of samples)
      expect(
        check(text).problems.map((problem) => problem.message),
        name,
      ).toEqual([]);
  });

  it("every prefix of a text with one of each", () => {
    for (let end = 0; end <= everything.length; end++) check(everything.slice(0, end));
  });

  it.each(samples)("prefixes of %s", (_, text) => {
    for (let end = 0; end < text.length; end += 37) check(text.slice(0, end));
  });

  it("a text with a piece left out, or a piece of another put in", () => {
    const texts = [everything, ...samples.map(([, text]) => text)];
    fc.assert(
      fc.property(
        fc.nat(texts.length - 1),
        fc.nat(6000),
        fc.nat(40),
        fc.nat(6000),
        fc.nat(40),
        fc.nat(texts.length - 1),
        (which, at, drop, from, take, other) => {
          const text = texts[which];
          const start = at % text.length;
          check(text.slice(0, start) + texts[other].slice(from, from + take) + text.slice(start + drop));
        },
      ),
      { numRuns: 400, seed: 7 },
    );
  });

  it("words of the language in any order", () => {
    const words = everything.split(/(\s+|[{}(),:])/).filter((word) => word !== "" && word !== " ");
    fc.assert(
      fc.property(fc.array(fc.constantFrom(...words), { maxLength: 40 }), (some) => {
        check(some.join(" "));
      }),
      { numRuns: 400, seed: 11 },
    );
  });

  it("a tree with nothing in it", () => {
    const empty: Tree = { statements: [], problems: [], lineStarts: [0] };
    const { circuit } = buildCircuit("x", "", empty);
    expect(circuit.parts).toEqual([]);
    expect(circuit.mains.given).toBe(false);
  });
});

describe("the circuit stays as it was built", () => {
  it("the tree is not touched", () => {
    const tree = parse(everything);
    const frozen = deepFreeze(tree);
    expect(() => buildCircuit("main.ampnet", everything, frozen, () => part)).not.toThrow();
  });

  it("the same text gives the same circuit", () => {
    expect(check(everything)).toEqual(check(everything));
  });
});

function deepFreeze<T>(value: T): T {
  if (typeof value === "object" && value !== null && !Object.isFrozen(value)) {
    Object.freeze(value);
    for (const inner of Object.values(value)) deepFreeze(inner);
  }
  return value;
}
