import { describe, expect, it } from "vitest";
import { circuitOf, partOf, tellings, wiring } from "./helpers.ts";

const twin = {
  "a.plate": "p1",
  "a.grid": "g1",
  "a.cathode": "k1",
  "b.plate": "p2",
  "b.grid": "g2",
  "b.cathode": "k2",
  "heater.1": "h1",
  "heater.2": "h2",
};
const a = "valve V1.a ECC83 { plate: p1, grid: g1, cathode: k1 }";
const b = "valve V1.b ECC83 { plate: p2, grid: g2, cathode: k2 }";
const heater = "valve V1 ECC83 { heater: h1 h2 }";

describe("a twin valve", () => {
  it.each([
    [
      "blocks",
      "valve V1 ECC83 {\n a { plate: p1, grid: g1, cathode: k1 }\n b { plate: p2, grid: g2, cathode: k2 }\n heater: h1 h2\n}",
    ],
    ["sections, then the heater", [a, b, heater].join("\n")],
    ["the heater first", [heater, b, a].join("\n")],
    ["the heater between", [b, heater, a].join("\n")],
    [
      "the heater with a section",
      [a, "valve V1.b ECC83 { plate: p2, grid: g2, cathode: k2, heater: h1 h2 }"].join("\n"),
    ],
    ["the heater said twice alike", [a, b, heater, heater].join("\n")],
    ["the type said once", ["valve V1.a { plate: p1, grid: g1, cathode: k1 }", b, heater].join("\n")],
    ["another name of the type", [a, b.replace("ECC83", "12AX7"), heater].join("\n")],
    [
      "the other side's words",
      "valve V1 ECC83 { a { anode: p1, g1: g1, k: k1 }, b { anode: p2, g1: g2, cathode: k2 }, filament: h1 h2 }",
    ],
  ])("is the same valve written as %s", (_, text) => {
    const circuit = circuitOf(`${text}\n`);
    expect(circuit.problems.map((problem) => problem.message)).toEqual([]);
    const valve = partOf(circuit, "valve", "V1");
    expect(circuit.parts).toHaveLength(1);
    expect(wiring(circuit, "V1")).toEqual(twin);
    expect(valve.sections.map((section) => section.name)).toEqual(["a", "b"]);
    expect(valve.heater?.nets.map((net) => circuit.nets[net].name)).toEqual(["h1", "h2"]);
    expect(valve.type).toBe("12AX7A");
  });

  it("a section never written is unused", () => {
    const valve = partOf(circuitOf(`${a}\n${heater}\n`), "valve", "V1");
    expect(valve.sections.map((section) => section.name)).toEqual(["a"]);
    expect(partOf(circuitOf(`${heater}\n`), "valve", "V1").sections).toEqual([]);
  });

  it("keeps the place of each section and electrode", () => {
    const text = `${a}\n${heater}\n`;
    const circuit = circuitOf(text);
    const [section] = partOf(circuit, "valve", "V1").sections;
    expect(text.slice(section.place.range.start, section.place.range.end)).toBe(a);
    const { range } = section.electrodePlaces.get("grid")!;
    expect(text.slice(range.start, range.end)).toBe("g1");
  });

  it("tells electrodes without a section, and takes them for the first", () => {
    const text = "valve V1 ECC83 { plate: p1, grid: g1, cathode: k1, heater: h1 h2 }\n";
    const circuit = circuitOf(text);
    expect(circuit.problems.map((problem) => problem.rule)).toEqual(["circuit/unknown-terminal"]);
    expect(wiring(circuit, "V1")["a.plate"]).toBe("p1");
  });

  it("tells a section that the type has not", () => {
    expect(tellings("valve V1 ECC83 { c { plate: p } }\n")).toEqual(["circuit/unknown-terminal: c"]);
  });

  it("tells a section written twice, and keeps both as valves", () => {
    const text = `${a}\n${a}\n`;
    const circuit = circuitOf(text);
    expect(circuit.problems.map((problem) => problem.rule)).toEqual(["circuit/duplicate-reference"]);
    expect(circuit.problems[0].related).toHaveLength(1);
    expect(circuit.parts).toHaveLength(2);
  });

  it("tells two different types, and two different heaters", () => {
    expect(tellings(`${a}\n${b.replace("ECC83", "ECC81")}\n`)).toEqual(["circuit/unknown-type: ECC81"]);
    expect(tellings(`${heater}\nvalve V1 ECC83 { heater: h3 h4 }\n`)).toEqual([
      "circuit/duplicate-reference: heater: h3 h4",
    ]);
  });

  it("tells its heater's wiring in series or parallel, where it has both", () => {
    const wiringOf = (text: string) => partOf(circuitOf(text), "valve", "V1").heater?.wiring;
    expect(wiringOf("valve V1 ECC83 { heater: h1 h2 series }\n")).toBe("series");
    expect(wiringOf("valve V1 ECC83 { heater: h1 h2 parallel }\n")).toBe("parallel");
    expect(wiringOf("valve V1 ECC83 { heater: h1 h2 }\n")).toBeUndefined();
    expect(tellings("valve V3 EL84 { heater: h1 h2 series }\n")).toEqual(["circuit/unknown-fact: series"]);
  });
});

describe("a valve with one section", () => {
  it("has its electrodes in its own block", () => {
    const circuit = circuitOf(
      "valve V3 EL34 { plate: p, screen: s, suppressor: k, grid: g, cathode: k, heater: h1 h2 }\n",
    );
    expect(circuit.problems).toEqual([]);
    const [section] = partOf(circuit, "valve", "V3").sections;
    expect(section.name).toBe("");
    expect([...section.electrodes.keys()].sort()).toEqual([
      "cathode",
      "grid",
      "plate",
      "screen",
      "suppressor",
    ]);
  });
  it("takes g1, g2, g3, anode and filament", () => {
    expect(
      wiring(
        circuitOf("valve V3 EL34 { anode: p, g2: s, g3: k, g1: g, cathode: k, filament: h1 h2 }\n"),
        "V3",
      ),
    ).toEqual({
      plate: "p",
      screen: "s",
      suppressor: "k",
      grid: "g",
      cathode: "k",
      "heater.1": "h1",
      "heater.2": "h2",
    });
  });
  it("tells an electrode that the type has not", () => {
    const { problems } = circuitOf("valve V1 ECC83 { a { plate: p, screen: s, cathode: k } }\n");
    expect(problems.map((problem) => problem.rule)).toEqual(["circuit/unknown-terminal"]);
    expect(problems[0].message).toContain("ECC83");
  });
  it("tells a section block", () => {
    const circuit = circuitOf("valve V3 EL84 { a { plate: p, grid: g } }\n");
    expect(circuit.problems.map((problem) => problem.rule)).toEqual(["circuit/unknown-terminal"]);
    expect(wiring(circuit, "V3")).toEqual({ plate: "p", grid: "g" });
  });
  it("written twice is two valves, one of them told", () => {
    const one = "valve V3 EL84 { plate: pA, screen: s, grid: gA, cathode: k }";
    const text = `${one}\n${one.replaceAll("A", "B")}\n`;
    const circuit = circuitOf(text);
    expect(circuit.problems.map((problem) => problem.rule)).toEqual(["circuit/duplicate-reference"]);
    expect(circuit.parts).toHaveLength(2);
    expect(new Set(circuit.parts.map((part) => part.reference)).size).toBe(2);
  });
});

describe("types", () => {
  it("are found by any name, as 6V6 which looks like a value", () => {
    for (const [name, type] of [
      ["6V6", "6V6GTA"],
      ["6V6GT", "6V6GTA"],
      ["6BQ5", "EL84"],
      ["12AX7", "12AX7A"],
      ["5AR4", "GZ34"],
    ] as const) {
      expect(partOf(circuitOf(`valve V1 ${name} { heater: h1 h2 }\n`), "valve", "V1").type, name).toBe(type);
    }
  });
  it("unknown are told with near names, and the valve is kept", () => {
    const text = "valve V1 ECC38 { a { plate: p, grid: g, cathode: k }, heater: h1 h2 }\n";
    const circuit = circuitOf(text);
    expect(tellings(text)).toEqual(["circuit/unknown-type: ECC38"]);
    expect(circuit.problems[0].message).toMatch(/ECC83/);
    const valve = partOf(circuit, "valve", "V1");
    expect(valve.type).toBeUndefined();
    expect(valve.typeWritten).toBe("ECC38");
    expect(wiring(circuit, "V1")).toMatchObject({ "a.plate": "p" });
  });
  it("unknown are not taken for another kind", () => {
    const told = (type: string) =>
      circuitOf(`valve V1 ${type} { plate: p, grid: g, cathode: k }\n`).problems[0].message;
    // M is an indicator and L an output pentode; a B in an American code may stand for anything.
    expect(told("EM84")).not.toContain("Did you mean");
    expect(told("6BQ6")).not.toContain("Did you mean");
    expect(told("EL85")).toMatch(/Did you mean .*EL8/);
    // No code at all.
    expect(told("ELF4")).toMatch(/Did you mean .*EL34/);
  });
  it("missing are told at the reference", () => {
    expect(tellings("valve V1 { plate: p, grid: g, cathode: k }\n")).toEqual(["circuit/unknown-type: V1"]);
  });
  it("are all that a valve has of facts", () => {
    expect(tellings("valve V1 EL84 12W { plate: p }\n")).toEqual(["circuit/unknown-fact: 12W"]);
  });
});

describe("rectifiers", () => {
  it("have two plates", () => {
    const circuit = circuitOf("valve V5 EZ81 { plate1: htA, plate2: htB, cathode: HT1, heater: h1 h2 }\n");
    expect(circuit.problems).toEqual([]);
    expect(wiring(circuit, "V5")).toEqual({
      plate1: "htA",
      plate2: "htB",
      cathode: "HT1",
      "heater.1": "h1",
      "heater.2": "h2",
    });
    expect(partOf(circuit, "valve", "V5").sections).toHaveLength(1);
  });
  it("directly heated and without a cathode written, have it at the filament's first end, and it is told", () => {
    const circuit = circuitOf("valve V5 5U4GB { plate1: htA, plate2: htB, filament: HT1 f2 }\n");
    const section = partOf(circuit, "valve", "V5").sections[0];
    expect(circuit.nets[section.electrodes.get("cathode")!].name).toBe("HT1");
    expect(circuit.problems.map(({ rule, message }) => [rule, message])).toEqual([
      ["circuit/unconnected", expect.stringContaining("its filament is its cathode: taken at HT1")],
    ]);
    // An indirectly heated one has a cathode of its own.
    const other = circuitOf("valve V5 GZ34 { plate1: htA, plate2: htB, heater: HT1 f2 }\n");
    expect(partOf(other, "valve", "V5").sections[0].electrodes.has("cathode")).toBe(false);
  });

  it("directly heated, have their cathode on an end of the heater", () => {
    const circuit = circuitOf("valve V5 5U4GB { plate1: htA, plate2: htB, cathode: HT1, heater: HT1 f2 }\n");
    expect(circuit.problems).toEqual([]);
    const valve = partOf(circuit, "valve", "V5");
    expect(valve.sections[0].electrodes.get("cathode")).toBe(valve.heater?.nets[0]);
  });
  it("used with one plate may call it so", () => {
    const circuit = circuitOf("valve V5 6X4 { plate: htA, cathode: HT1, heater: h1 h2 }\n");
    expect(wiring(circuit, "V5").plate1).toBe("htA");
  });
});

describe("heaters", () => {
  it("tell one net, or three", () => {
    expect(tellings("valve V1 EL84 { heater: h1 }\n")).toEqual(["circuit/unknown-terminal: heater: h1"]);
    expect(tellings("valve V1 EL84 { heater: h1 ct h2 }\n")).toEqual([
      "circuit/unknown-terminal: heater: h1 ct h2",
    ]);
  });
});

describe("a triode-pentode", () => {
  const wired = {
    "triode.plate": "p1",
    "triode.grid": "g1",
    "triode.cathode": "k1",
    "pentode.plate": "p2",
    "pentode.screen": "s2",
    "pentode.grid": "g2",
    "pentode.cathode": "k2",
    "heater.1": "h1",
    "heater.2": "h2",
  };
  const t = "plate: p1, grid: g1, cathode: k1";
  const p = "plate: p2, screen: s2, grid: g2, cathode: k2";
  it.each([
    ["blocks", `valve V1 ECL82 { triode { ${t} }, pentode { ${p} }, heater: h1 h2 }`],
    ["blocks by letter", `valve V1 6BM8 { a { ${t} }, b { ${p} }, heater: h1 h2 }`],
    ["the pentode first", `valve V1 ECL82 { pentode { ${p} }, triode { ${t} }, heater: h1 h2 }`],
    [
      "sections apart",
      `valve V1.triode ECL82 { ${t} }\nvalve V1.pentode ECL82 { ${p} }\nvalve V1 ECL82 { heater: h1 h2 }`,
    ],
    [
      "sections apart by letter, the heater with one",
      `valve V1.b ECL82 { ${p}, heater: h1 h2 }\nvalve V1.a ECL82 { ${t} }`,
    ],
  ])("is the same valve written as %s", (_, text) => {
    const circuit = circuitOf(`${text}\n`);
    expect(circuit.problems.map((problem) => problem.message)).toEqual([]);
    expect(circuit.parts).toHaveLength(1);
    expect(wiring(circuit, "V1")).toEqual(wired);
    const valve = partOf(circuit, "valve", "V1");
    expect(valve.sections.map((section) => section.name)).toEqual(["triode", "pentode"]);
    expect(valve.type).toBe("ECL82");
  });

  it.each(["V1.pentode.plate", "V1.b.plate", "V1.b.anode"])(
    "its terminal may stand for a net: %s",
    (name) => {
      const circuit = circuitOf(`valve V1 ECL82 { pentode { ${p} } }\n${name} -- resistor R1 1k -- gnd\n`);
      expect(circuit.problems).toEqual([]);
      expect(wiring(circuit, "R1").a).toBe("p2");
    },
  );

  it("gives a section to a stage", () => {
    const circuit = circuitOf(`block gain(in, out, v) {
  valve v { plate: out, grid: in, cathode: k }
  k -- resistor R1 1k -- gnd
}
use gain(x, y, V1.a) as N
valve V1 ECL82 { pentode { ${p} } }
`);
    expect(circuit.problems).toEqual([]);
    expect(wiring(circuit, "V1")["triode.plate"]).toBe("y");
    expect(partOf(circuit, "valve", "V1").sections.map(({ name }) => name)).toEqual(["triode", "pentode"]);
  });

  it("a section never written is unused", () => {
    const valve = partOf(circuitOf(`valve V1.b ECL82 { ${p} }\n`), "valve", "V1");
    expect(valve.sections.map(({ name }) => name)).toEqual(["pentode"]);
  });

  it("keeps a section's electrodes to it, and says which section has them", () => {
    const circuit = circuitOf(`valve V1 ECL82 { a { ${p} } }\n`);
    expect(circuit.problems.map(({ rule, message }) => [rule, message])).toEqual([
      [
        "circuit/unknown-terminal",
        "V1: the triode of an ECL82 has no screen, its pentode has: a is its triode, b is its pentode.",
      ],
    ]);
    expect(wiring(circuit, "V1")["triode.plate"]).toBe("p2");
    expect(tellings("valve V1 ECL82 { triode { plate1: p } }\n")).toEqual([
      "circuit/unknown-terminal: plate1",
    ]);
    expect(tellings("V1.triode.screen -- resistor R1 1k -- gnd\nvalve V1 ECL82 { heater: h1 h2 }\n")).toEqual(
      ["circuit/unknown-terminal: V1.triode.screen"],
    );
  });

  it("takes electrodes without a section for the first that has them, and tells it", () => {
    const circuit = circuitOf(`valve V1 ECL82 { ${p}, heater: h1 h2 }\n`);
    expect(circuit.problems.map(({ rule }) => rule)).toEqual(["circuit/unknown-terminal"]);
    expect(circuit.problems[0].message).toContain("write pentode {");
    expect(wiring(circuit, "V1")["pentode.screen"]).toBe("s2");
  });

  it("tells a section that it has not, and one that is written twice", () => {
    expect(tellings(`valve V1 ECL82 { c { ${t} } }\n`)).toEqual(["circuit/unknown-terminal: c"]);
    expect(tellings(`valve V1 ECL82 { a { plate: p1 }, triode { plate: p3 } }\n`)).toEqual([
      "circuit/duplicate-reference: plate",
    ]);
  });

  it("of another heater is a type of its own", () => {
    expect(partOf(circuitOf("valve V1 16A8 { heater: h1 h2 }\n"), "valve", "V1").type).toBe("PCL82");
  });
});

describe("a triode with two diodes", () => {
  it("has their plates, and may leave them out", () => {
    const text = "valve V1 6AV6 { plate: p, grid: g, cathode: k, diode1: k, d2: gnd, heater: h1 h2 }\n";
    const circuit = circuitOf(text);
    expect(circuit.problems).toEqual([]);
    expect(wiring(circuit, "V1")).toMatchObject({ diode1: "k", diode2: "gnd", plate: "p" });
    expect(tellings("valve V1 6AV6 { plate: p, grid: g, cathode: k }\n")).toEqual([]);
    expect(tellings("valve V1 6C4 { plate: p, grid: g, cathode: k, diode1: k }\n")).toEqual([
      "circuit/unknown-terminal: diode1",
    ]);
  });
});

describe("a directly heated amplifying valve", () => {
  const cathodeOf = (text: string) => {
    const circuit = circuitOf(text);
    expect(circuit.problems).toEqual([]);
    return circuit.nets[partOf(circuit, "valve", "V1").sections[0].electrodes.get("cathode")!].name;
  };
  it("has its filament for a cathode", () => {
    expect(cathodeOf("valve V1 300B { plate: p, grid: g, filament: f1 f2 }\n")).toBe("f1");
    expect(cathodeOf("valve V1 300B { plate: p, grid: g, heater: f1 f2, cathode: f2 }\n")).toBe("f2");
  });
  it("is met at its cathode where none is written", () => {
    const circuit = circuitOf(
      "valve V1 2A3 { plate: p, grid: g, filament: f1 f2 }\nV1.cathode -- resistor R1 750R -- gnd\nmeasured V1.cathode 45V\nmeasured V1.cathode 60mA\n",
    );
    expect(circuit.problems).toEqual([]);
    expect(wiring(circuit, "R1").a).toBe("f1");
    expect(circuit.measurements.map(({ target }) => target)).toMatchObject([
      { kind: "electrode", reference: "V1", electrode: "cathode" },
      { kind: "electrode", reference: "V1", electrode: "cathode" },
    ]);
  });
});
