import { describe, expect, it } from "vitest";
import { kinds } from "../../grammar/names.ts";
import { factSchema, issuesOf } from "../../server/circuit/fact-schema.ts";
import { kindOf, kindSpecs } from "../../server/circuit/kinds/index.ts";
import { circuitOf, partOf, tellings, wiring } from "./helpers.ts";

/** Every order of a few words. */
function orders(words: readonly string[]): string[] {
  if (words.length < 2) return [words.join(" ")];
  return words.flatMap((word, index) =>
    orders([...words.slice(0, index), ...words.slice(index + 1)]).map((rest) => `${word} ${rest}`),
  );
}

interface Case {
  readonly kind: string;
  readonly reference: string;
  /** Facts in one order. */
  readonly facts: readonly string[];
  /** Terminals, left of a path first. */
  readonly terminals: readonly string[];
  readonly path: boolean;
  /** Fields and what they hold, numbers as `value`. */
  readonly fields: Readonly<Record<string, unknown>>;
  /** A value of the wrong kind. */
  readonly wrong: string;
  /** The word or value that nothing can do without, told when no fact is written. */
  readonly missing?: boolean;
}

const cases: readonly Case[] = [
  {
    kind: "resistor",
    reference: "R5",
    facts: ["4k7", "0.5W", "metal-film", "350V", "2%"],
    terminals: ["a", "b"],
    path: true,
    fields: { ohms: 4700, watts: 0.5, material: "metal-film", volts: 350, tolerance: 0.02 },
    wrong: "22n",
    missing: true,
  },
  {
    kind: "pot",
    reference: "R7",
    facts: ["1M", "audio", "0.25W", "at 40%", "10%"],
    terminals: ["top", "wiper", "bottom"],
    path: false,
    fields: { ohms: 1e6, taper: "audio", watts: 0.25, setting: 0.4, tolerance: 0.1 },
    wrong: "10H",
    missing: true,
  },
  {
    kind: "thermistor",
    reference: "TH1",
    facts: ["10R", "hot 1R", "3A"],
    terminals: ["a", "b"],
    path: true,
    fields: { ohms: 10, hotOhms: 1, amps: 3 },
    wrong: "5W",
    missing: true,
  },
  {
    kind: "capacitor",
    reference: "C20",
    facts: ["32u", "450V", "electrolytic", "surge 500V", "ripple 300mA"],
    terminals: ["plus", "minus"],
    path: true,
    fields: {
      farads: 32e-6,
      volts: 450,
      material: "electrolytic",
      surgeVolts: 500,
      rippleAmps: 0.3,
      polarised: true,
    },
    wrong: "100k",
    missing: true,
  },
  {
    kind: "capacitor",
    reference: "X1",
    facts: ["100n", "275VAC", "X2", "film"],
    terminals: ["a", "b"],
    path: true,
    fields: {
      farads: 100e-9,
      voltsAlternating: 275,
      safetyClass: "X2",
      material: "film",
      polarised: false,
      volts: undefined,
    },
    wrong: "4R7",
    missing: true,
  },
  {
    kind: "choke",
    reference: "L1",
    facts: ["10H", "100mA", "220R"],
    terminals: ["a", "b"],
    path: true,
    fields: { henries: 10, amps: 0.1, ohms: 220 },
    wrong: "22n",
    missing: true,
  },
  {
    kind: "diode",
    reference: "D1",
    facts: ["1000V", "1A"],
    terminals: ["anode", "cathode"],
    path: true,
    fields: { volts: 1000, amps: 1 },
    wrong: "22u",
  },
  {
    kind: "zener",
    reference: "D2",
    facts: ["12V", "1.3W", "slope 10R", "5%"],
    terminals: ["anode", "cathode"],
    path: true,
    fields: { volts: 12, watts: 1.3, ohms: 10, tolerance: 0.05 },
    wrong: "22u",
    missing: true,
  },
  {
    kind: "bridge",
    reference: "D3",
    facts: ["1000V", "1.5A"],
    terminals: ["ac1", "ac2", "plus", "minus"],
    path: false,
    fields: { volts: 1000, amps: 1.5 },
    wrong: "22u",
  },
  {
    kind: "fuse",
    reference: "F1",
    facts: ["T500mA", "250V", "L"],
    terminals: ["tip", "ring"],
    path: true,
    fields: { amps: 0.5, character: "T", volts: 250, breaking: "L" },
    wrong: "22n",
    missing: true,
  },
  {
    kind: "switch",
    reference: "S1",
    facts: ["mains", "spst", "250V", "6A"],
    terminals: ["common", "on"],
    path: true,
    fields: { duty: "mains", volts: 250, amps: 6, positions: ["on", "off"] },
    wrong: "22n",
  },
  {
    kind: "bond",
    reference: "E1",
    facts: ["own-fixing"],
    terminals: ["a", "b"],
    path: true,
    fields: { fixing: "own-fixing" },
    wrong: "22n",
  },
  {
    kind: "wire",
    reference: "W2",
    facts: ["0.75mm2", "120mm", "red", "600V", "cloth"],
    terminals: ["a", "b"],
    path: true,
    fields: { squareMetres: 0.75e-6, metres: 0.12, colour: "red", volts: 600, cloth: true },
    wrong: "22n",
  },
  {
    kind: "jack",
    reference: "J1",
    facts: ["insulated"],
    terminals: ["tip", "ring", "sleeve", "tip-break"],
    path: false,
    fields: { insulated: true },
    wrong: "22n",
  },
  {
    kind: "lamp",
    reference: "LP1",
    facts: ["neon", "90V", "0.6mA"],
    terminals: ["a", "b"],
    path: true,
    fields: { neon: true, volts: 90, amps: 0.0006 },
    wrong: "22n",
  },
  {
    kind: "speaker",
    reference: "LS1",
    facts: ["15R", "25W"],
    terminals: ["a", "b"],
    path: true,
    fields: { ohms: 15, watts: 25 },
    wrong: "22n",
    missing: true,
  },
  {
    kind: "source",
    reference: "B1",
    facts: ["300V", "100R"],
    terminals: ["plus", "minus"],
    path: true,
    fields: { volts: 300, ohms: 100 },
    wrong: "22n",
    missing: true,
  },
  {
    kind: "cord",
    reference: "W1",
    facts: ["1.0mm2", "10A", "anchored"],
    terminals: ["active", "neutral", "earth"],
    path: false,
    fields: { squareMetres: 1e-6, amps: 10, anchored: true },
    wrong: "22n",
  },
  {
    kind: "inlet",
    reference: "J3",
    facts: ["1.0mm2", "10A", "unanchored"],
    terminals: ["active", "neutral", "earth"],
    path: false,
    fields: { squareMetres: 1e-6, amps: 10, anchored: false },
    wrong: "22n",
  },
];

/** The value itself of a given figure. */
function plain(value: unknown): unknown {
  return typeof value === "object" && value !== null && "origin" in value
    ? (value as unknown as { value: unknown }).value
    : value;
}

function expectFields(part: unknown, fields: Readonly<Record<string, unknown>>): void {
  for (const [field, expected] of Object.entries(fields)) {
    const value = plain((part as Record<string, unknown>)[field]);
    if (typeof expected === "number") expect(value, field).toBeCloseTo(expected, 12);
    else expect(value, field).toEqual(expected);
  }
}

describe.each(cases)("$kind $reference", (one) => {
  const nets = one.terminals.map((_, index) => `n${index}`);
  const block = `{ ${one.terminals.map((terminal, index) => `${terminal}: ${nets[index]}`).join(", ")} }`;
  const wired = Object.fromEntries(one.terminals.map((terminal, index) => [terminal, nets[index]]));

  it("reads its facts in any order, in a block", () => {
    for (const facts of orders(one.facts.slice(0, 4))) {
      const text = `${one.kind} ${one.reference} ${[facts, ...one.facts.slice(4)].join(" ")} ${block}\n`;
      const circuit = circuitOf(text);
      expect(circuit.problems, text).toEqual([]);
      const part = partOf(circuit, one.kind as "resistor", one.reference);
      expectFields(part, one.fields);
      expect(wiring(circuit, one.reference)).toEqual(wired);
      expect([...part.terminals.keys()]).toEqual(one.terminals);
    }
  });

  it("wires its terminals in whatever order the block names them", () => {
    const turned = one.terminals.map((terminal, index) => `${terminal}: ${nets[index]}`).reverse();
    const circuit = circuitOf(
      `${one.kind} ${one.reference} ${one.facts.join(" ")} { ${turned.join(", ")} }\n`,
    );
    expect(wiring(circuit, one.reference)).toEqual(wired);
  });

  it(
    one.path ? "stands in a path, first terminal on the left" : "tells that it cannot stand in a path",
    () => {
      const text = `n0 -- ${one.kind} ${one.reference} ${one.facts.join(" ")} -- n1\n`;
      const circuit = circuitOf(text);
      if (one.path) {
        expect(circuit.problems).toEqual([]);
        expect(wiring(circuit, one.reference)).toEqual({
          [one.terminals[0]]: "n0",
          [one.terminals[1]]: "n1",
        });
        expectFields(partOf(circuit, one.kind as "resistor", one.reference), one.fields);
      } else {
        expect(tellings(text)).toEqual([`circuit/syntax: ${one.kind}`]);
        expect(circuit.partByReference.has(one.reference)).toBe(true);
      }
    },
  );

  it("tells a value of the wrong kind at that value, and keeps the part and its other facts", () => {
    const text = `${one.kind} ${one.reference} ${one.facts.join(" ")} ${one.wrong} ${block}\n`;
    expect(tellings(text)).toEqual([`circuit/unit: ${one.wrong}`]);
    const circuit = circuitOf(text);
    expectFields(partOf(circuit, one.kind as "resistor", one.reference), one.fields);
    expect(wiring(circuit, one.reference)).toEqual(wired);
  });

  it("tells an unknown terminal with the near one, and keeps the rest", () => {
    const [first, ...rest] = one.terminals;
    const slip = `${first}x`;
    const text = `${one.kind} ${one.reference} ${one.facts.join(" ")} { ${slip}: n0, ${rest.map((terminal, index) => `${terminal}: n${index + 1}`).join(", ")} }\n`;
    const { problems } = circuitOf(text);
    expect(tellings(text)).toEqual([`circuit/unknown-terminal: ${slip}`]);
    if (first.length > 1) {
      expect(problems[0].message).toContain(first);
      expect(problems[0].fix?.text).toBe(first);
    }
  });

  it("is kept with nothing written behind it, and told where it cannot do without", () => {
    const text = `${one.kind} ${one.reference} ${block}\n`;
    expect(tellings(text)).toEqual(one.missing ? [`circuit/missing-value: ${one.reference}`] : []);
    expect(circuitOf(text).partByReference.get(one.reference)?.kind).toBe(one.kind);
  });

  it("tells once that its value is missing where a wrong one was told", () => {
    const text = `${one.kind} ${one.reference} ${one.wrong} ${block}\n`;
    expect(tellings(text)).toEqual([`circuit/unit: ${one.wrong}`]);
  });

  it("tells an unknown word with its near one", () => {
    const word = Object.keys(kindOf(one.kind)!.facts.words).find((known) => known.length > 4);
    if (!word || kindOf(one.kind)!.facts.type) return;
    const slip = `${word.slice(0, -1)}zz`;
    const text = `${one.kind} ${one.reference} ${one.facts.slice(0, 1).join(" ")} ${slip} ${block}\n`;
    const { problems } = circuitOf(text);
    const found = problems.find((problem) => problem.rule === "circuit/unknown-fact");
    expect(found?.message).toContain(slip);
    expect(found?.message).toContain(word);
  });
});

describe("every kind", () => {
  it("is one that the grammar knows, and the other way about", () => {
    expect(kindSpecs.map((spec) => spec.kind as string).sort()).toEqual([...kinds].sort());
  });

  it.each(kindSpecs.map((spec) => [spec.kind, spec] as const))(
    "%s has an example that builds without a word",
    (_, spec) => {
      expect(circuitOf(`${spec.example}\n`).problems.map((problem) => problem.message)).toEqual([]);
      expect(circuitOf(`${spec.example}\n`).parts.some((part) => part.kind === spec.kind)).toBe(true);
    },
  );
});

describe("the schema of facts", () => {
  it("agrees with the reader's quick look at every fact's limits", () => {
    for (const { kind, facts } of kindSpecs) {
      for (const fact of facts.numbers) {
        if (fact.alternating) continue;
        const least = fact.least ?? 0;
        for (const [value, sound] of [
          [least, fact.zero ?? false],
          [least - 1, false],
          [fact.most, true],
          [fact.most * 2, false],
          [(least + fact.most) / 2, true],
        ] as const) {
          const issues = issuesOf(facts, { [fact.field]: value });
          expect(issues.length === 0, `${kind} ${fact.field} ${value}: ${issues.join()}`).toBe(sound);
        }
      }
      expect(factSchema(facts).safeParse({ nonsense: 1 }).success).toBe(false);
    }
  });

  it("tells a value out of its range", () => {
    expect(tellings("resistor R1 -5k { a: x, b: y }\n")).toEqual(["circuit/unit: -5k"]);
    expect(tellings("pot R1 1M at 140% { top: x, wiper: y }\n")).toEqual(["circuit/unit: at 140%"]);
    expect(circuitOf("pot R1 1M at 140% { top: x, wiper: y }\n").problems[0].message).toMatch(/1 at most/);
  });
});

describe("defaults", () => {
  it("say where they come from", () => {
    const circuit = circuitOf(`a -- resistor R1 100k 0.5W -- b
a -- resistor R2 1k 5W wirewound -- b
a -- resistor R3 100k 0.5W carbon-composition -- b
a -- capacitor C1 22n 400V film -- b
a -- choke L1 10H 100mA -- b
pot R4 1M { top: a, wiper: b }
a -- diode D1 1N4007 -- b
`);
    const r1 = partOf(circuit, "resistor", "R1");
    // The lowest of the published bodies at half a watt: metal film, small body.
    expect(r1.volts).toMatchObject({ value: 250, origin: "default" });
    expect(r1.volts?.source).toMatch(/metal film/);
    expect(r1.tolerance.origin).toBe("default");
    // Larger wirewound parts are limited by their power alone.
    expect(partOf(circuit, "resistor", "R2").volts).toBeUndefined();
    expect(partOf(circuit, "resistor", "R3").volts?.value).toBe(350);
    expect(partOf(circuit, "capacitor", "C1").tolerance).toMatchObject({ value: 0.1, origin: "default" });
    const l1 = partOf(circuit, "choke", "L1");
    expect(l1.ohms.origin).toBe("estimate");
    expect(l1.ohms.value).toBeGreaterThan(150);
    expect(l1.ohms.value).toBeLessThan(300);
    expect(partOf(circuit, "pot", "R4").setting).toMatchObject({ value: 0.5, origin: "default" });
    expect(partOf(circuit, "diode", "D1").volts).toMatchObject({ value: 1000, origin: "default" });
  });

  it("leave a resistor without watts without body volts", () => {
    expect(partOf(circuitOf("a -- resistor R1 100k -- b\n"), "resistor", "R1").volts).toBeUndefined();
  });

  it("take a missing resistance as open, as an estimate", () => {
    const part = partOf(circuitOf("a -- resistor R1 0.5W -- b\n"), "resistor", "R1");
    expect(part.ohms.origin).toBe("estimate");
    expect(part.ohms.value).toBeGreaterThan(1e9);
  });
});

describe("slips in facts", () => {
  it("reads farads in a resistor as farads, whatever their notation", () => {
    for (const value of ["22n", "4u7", "100p", "0.022uF", "22 nF", "1p5"]) {
      expect(tellings(`a -- resistor R1 ${value} -- b\n`)).toEqual([`circuit/unit: ${value}`]);
    }
  });
  it("reads ohms in a capacitor as ohms", () => {
    for (const value of ["4k7", "100R", "1M", "47 kΩ"]) {
      expect(tellings(`a -- capacitor C1 ${value} 400V -- b\n`)).toEqual([`circuit/unit: ${value}`]);
    }
  });
  it("asks for a letter behind a bare number in a capacitor", () => {
    expect(tellings("a -- capacitor C1 100 400V -- b\n")).toEqual(["circuit/unit: 100"]);
  });
  it("takes a bare number in a resistor for ohms", () => {
    expect(partOf(circuitOf("a -- resistor R1 470 -- b\n"), "resistor", "R1").ohms.value).toBe(470);
  });
  it("offers megohms for a thousandth of an ohm", () => {
    const { problems } = circuitOf("a -- resistor R1 1m -- b\n");
    expect(problems).toHaveLength(1);
    expect(problems[0].fix?.text).toBe("1M");
  });
  it("asks for a word where a unit is taken already", () => {
    const { problems } = circuitOf("a -- capacitor C1 32u 450V 550V electrolytic -- b\n");
    expect(problems.map((problem) => problem.rule)).toEqual(["circuit/unknown-fact"]);
    expect(problems[0].message).toContain("surge 550V");
  });
  it("tells a word that a kind does not know, and a label that it does not have", () => {
    expect(tellings("a -- resistor R1 1k surge 5V -- b\n")).toEqual(["circuit/unknown-fact: surge"]);
    expect(tellings("a -- capacitor C1 1u 50V electrolitic -- b\n")).toEqual([
      "circuit/unknown-fact: electrolitic",
    ]);
    expect(tellings("a -- capacitor C1 1u 50V film paper -- b\n")).toEqual(["circuit/unknown-fact: paper"]);
    expect(tellings("a -- resistor R1 4R-8R -- b\n").sort()).toEqual([
      "circuit/missing-value: R1",
      "circuit/unknown-fact: 4R-8R",
    ]);
  });
  it("tells facts behind a net where none may stand", () => {
    expect(tellings("resistor R1 1k { a: x red, b: y }\n")).toEqual(["circuit/unknown-fact: red"]);
  });
  it("tells a terminal wired twice, with the first place", () => {
    const { problems } = circuitOf("resistor R1 1k { a: x, a: y }\n");
    expect(problems[0].rule).toBe("circuit/duplicate-reference");
    expect(problems[0].related).toHaveLength(1);
  });
  it("tells a row in a part that has none", () => {
    expect(tellings("resistor R1 1k { a { b: x } }\n")).toEqual(["circuit/unknown-terminal: a"]);
  });
  it("tells an unknown type of diode that gives no ratings", () => {
    expect(tellings("a -- diode D1 1N4077 -- b\n")).toEqual(["circuit/unknown-type: 1N4077"]);
    expect(tellings("a -- diode D1 XY99 1000V 3A -- b\n")).toEqual([]);
  });
});

describe("cord and inlet", () => {
  it("tell a gauge in square millimetres, by the table of ASTM B258", () => {
    // 18 AWG is 0.823 mm², 16 is 1.31, 14 is 2.08.
    for (const [gauge, area] of [
      ["18AWG", "0.823"],
      ["16AWG", "1.31"],
      ["AWG14", "2.08"],
    ]) {
      const { problems } = circuitOf(`cord W1 ${gauge} anchored { active: a, neutral: n, earth: e }\n`);
      expect(problems[0].message).toContain(`square millimetres: that is ${area}mm2.`);
      expect(problems[0].fix?.text).toBe(`${area}mm2`);
    }
  });
  it("keep each lead's length, colour and own cross-section", () => {
    const circuit = circuitOf(`cord W1 1.0mm2 10A anchored {
  active: inA 60mm brown
  neutral: inN 62mm blue
  earth: inE 110mm green-yellow 1.5mm2
}
`);
    expect(circuit.problems).toEqual([]);
    const { leads } = partOf(circuit, "cord", "W1");
    expect(leads.get("active")).toMatchObject({ colour: "brown", metres: { value: 0.06 } });
    expect(leads.get("active")?.squareMetres).toBeUndefined();
    expect(leads.get("neutral")?.metres?.value).toBeCloseTo(0.062, 12);
    expect(leads.get("earth")).toMatchObject({ colour: "green-yellow", squareMetres: { value: 1.5e-6 } });
  });
  it("leave what is not said unsaid", () => {
    const part = partOf(circuitOf("cord W1 { active: inA, neutral: inN }\n"), "cord", "W1");
    expect(part.anchored).toBeUndefined();
    expect(part.leads.has("earth")).toBe(false);
    expect(part.leads.get("active")?.metres).toBeUndefined();
  });
  it("tell a wrong fact of a lead", () => {
    expect(tellings("cord W1 { active: inA 60mm brwn, neutral: inN 5W }\n")).toEqual([
      "circuit/unknown-fact: brwn",
      "circuit/unit: 5W",
    ]);
  });
  it("take the other words for active", () => {
    expect(wiring(circuitOf("cord W1 { live: inA, neutral: inN, ground: inE }\n"), "W1")).toEqual({
      active: "inA",
      neutral: "inN",
      earth: "inE",
    });
  });
});

describe("switches", () => {
  it("have poles as blocks", () => {
    const circuit = circuitOf(
      "switch S1 mains dpst 250V 6A { 1 { common: a, on: b } 2 { common: c, on: d } }\n",
    );
    const part = partOf(circuit, "switch", "S1");
    expect(circuit.problems).toEqual([]);
    expect(part.poles.map((pole) => pole.name)).toEqual(["1", "2"]);
    expect(circuit.nets[part.poles[1].throws.get("on")!].name).toBe("d");
    expect(part.positions).toEqual(["on", "off"]);
    expect(wiring(circuit, "S1")).toEqual({ "1.common": "a", "1.on": "b", "2.common": "c", "2.on": "d" });
  });
  it("have two throws, and a middle position where it is said", () => {
    const part = partOf(
      circuitOf("switch S2 standby spdt centre-off { common: a, on: b, off: c }\n"),
      "switch",
      "S2",
    );
    expect([...part.poles[0].throws.keys()]).toEqual(["on", "off"]);
    expect(part.positions).toEqual(["on", "off", "centre"]);
  });
  it("have numbered throws", () => {
    const circuit = circuitOf("switch S3 tone { common: a, 1: b, 2: c, 5: d }\n");
    const part = partOf(circuit, "switch", "S3");
    expect(part.duty).toBe("tone");
    expect(part.positions).toEqual(["1", "2", "3", "4", "5"]);
    expect(circuit.problems).toEqual([]);
  });
  it("read direct volts before or behind the word", () => {
    for (const facts of ["dc 400V", "400V dc", "400V dc 3A", "3A dc 400V"]) {
      const part = partOf(circuitOf(`a -- switch S2 standby ${facts} -- b\n`), "switch", "S2");
      expect(part.voltsDirect?.value, facts).toBe(400);
      expect(part.volts, facts).toBeUndefined();
    }
    const both = partOf(circuitOf("a -- switch S2 standby 250V 3A dc 400V -- b\n"), "switch", "S2");
    expect([both.volts?.value, both.voltsDirect?.value]).toEqual([250, 400]);
  });
  it("tell a slip in their duty, since it changes what is checked", () => {
    const text = "a -- switch S2 stanby 250V -- b\n";
    expect(tellings(text)).toEqual(["circuit/unknown-fact: stanby"]);
    expect(circuitOf(text).problems[0].fix?.text).toBe("standby");
  });
  it("tell more poles than they say they have", () => {
    expect(tellings("switch S1 spst { 1 { common: a, on: b } 2 { common: c, on: d } }\n")).toEqual([
      "circuit/unknown-fact: spst",
    ]);
  });
});

describe("jacks, strips and unnamed pieces", () => {
  it("know their break contacts", () => {
    expect(wiring(circuitOf("jack J1 { tip: in, tip-break: gnd, sleeve: gnd }\n"), "J1")).toEqual({
      tip: "in",
      sleeve: "gnd",
      "tip-break": "gnd",
    });
  });
  it("name tags as they are written", () => {
    expect(wiring(circuitOf("terminal-strip TS1 { 1: HT1, x2: p1 }\n"), "TS1")).toEqual({
      "1": "HT1",
      x2: "p1",
    });
  });
  it("leave a part without reference to the grammar, which tells it, whatever else it lacks", () => {
    for (const line of [
      "a -- resistor -- b\n",
      "a -- resistor 10k -- b\n",
      "resistor { a: x, b: y }\n",
      "a -- fuse -- b\n",
    ]) {
      expect(circuitOf(line).problems).toEqual([]);
    }
  });
  it("number what has no reference", () => {
    const circuit = circuitOf("a -- wire -- b -- bond -- chassis\n");
    expect(circuit.problems).toEqual([]);
    expect(circuit.parts.map((part) => [part.kind, part.unnamed])).toEqual([
      ["wire", true],
      ["bond", true],
    ]);
    expect(new Set(circuit.parts.map((part) => part.reference)).size).toBe(2);
  });
});

describe("tolerances with signs", () => {
  it("take the larger side", () => {
    for (const facts of ["+50% -10%", "-10% +50%", "50%"]) {
      const circuit = circuitOf(`a -- capacitor C1 32u 450V electrolytic ${facts} -- b\n`);
      expect(circuit.problems, facts).toEqual([]);
      expect(partOf(circuit, "capacitor", "C1").tolerance.value, facts).toBeCloseTo(0.5, 12);
    }
  });
});

describe("a fuse's current without its unit", () => {
  const fuse = (fact: string) =>
    circuitOf(`a -- fuse F1 ${fact} 250V -- b\n`).problems.map(({ rule, message, fix }) => ({
      rule,
      fix: fix?.text,
      asks: message.includes("Did you mean"),
    }));
  it.each([
    ["T400", "T400mA"],
    ["T1600", "T1600mA"],
    ["T4", "T4A"],
    ["T31", "T31A"],
    ["T32", "T32mA"],
    ["F1.6", "F1.6A"],
    ["FF2", "FF2A"],
    ["TT630", "TT630mA"],
    ["T400m", "T400mA"],
    ["t400mA", "T400mA"],
    ["t4A", "T4A"],
  ])("offers for %s %s, which then is read", (written, meant) => {
    expect(fuse(written)).toEqual([{ rule: "circuit/unknown-fact", fix: meant, asks: true }]);
    expect(fuse(meant)).toEqual([]);
  });
  it("offers it for what reads as megohms too", () => {
    expect(fuse("M315")).toEqual([{ rule: "circuit/unit", fix: "M315mA", asks: true }]);
  });
  it("offers nothing of the kind on another part", () => {
    const { problems } = circuitOf("a -- resistor R1 1k T400 -- b\n");
    expect(problems.every(({ fix }) => fix?.text !== "T400mA")).toBe(true);
  });
});
