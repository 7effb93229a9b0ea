import { describe, expect, it } from "vitest";
import { circuitOf, mentions, netNames, partOf, tellings, wiring } from "./helpers.ts";

describe("terminals written elsewhere", () => {
  it("stand for the net that the terminal is wired to, before and behind its part", () => {
    const circuit = circuitOf(`V3.cathode -- resistor R1 130R 5W -- gnd
T1.ht.1 -- diode D1 1N4007 -- HT1
F1.tip -- wire -- x
valve V3 EL84 { plate: pA, screen: HT1, grid: gA, cathode: kO, heater: h1 h2 }
transformer T1 80VA { primary 230V { live inN }, ht 290-0-290V 120mA { htA gnd htB } }
inA -- fuse F1 T500mA 250V -- fused
V3.heater.2 -- resistor R2 100R 0.5W -- gnd
`);
    expect(circuit.problems).toEqual([]);
    expect(wiring(circuit, "R1").a).toBe("kO");
    expect(wiring(circuit, "D1").anode).toBe("htA");
    expect(wiring(circuit, "R2").a).toBe("h2");
    expect(circuit.parts.find((part) => part.kind === "wire")?.terminals.get("a")).toBe(
      circuit.netByName.get("inA"),
    );
    // The names of the aliases are no nets of their own.
    expect(netNames(circuit).filter((name) => name.includes("."))).toEqual([]);
  });

  it("count as a mention of that net", () => {
    const circuit = circuitOf("a -- resistor R1 1k -- b\nR1.b -- resistor R2 1k -- c\n");
    expect(mentions(circuit, "b")).toBe(2);
    expect(wiring(circuit, "R2").a).toBe("b");
  });

  it("make one fresh net where the terminal is wired nowhere", () => {
    const circuit = circuitOf(`valve V1 ECC83 { heater: h1 h2 }
V1.a.plate -- resistor R1 100k -- HT
V1.a.plate -- capacitor C1 22n 630V film -- out
V1.a.anode -- resistor R2 1M -- gnd
`);
    expect(circuit.problems).toEqual([]);
    const plate = partOf(circuit, "valve", "V1")
      .sections.find((section) => section.name === "a")
      ?.electrodes.get("plate");
    expect(plate).toBeDefined();
    expect(circuit.nets[plate!].name).toBe("V1.a.plate");
    for (const reference of ["R1", "C1", "R2"])
      expect(Object.values(wiring(circuit, reference))).toContain("V1.a.plate");
    expect(wiring(circuit, "V1")["a.plate"]).toBe("V1.a.plate");
    expect(mentions(circuit, "V1.a.plate")).toBe(3);
  });

  it("follow aliases through each other, and close a ring in one net", () => {
    const circuit = circuitOf(`resistor R1 1k { a: R2.a, b: gnd }
resistor R2 1k { a: R3.a, b: gnd }
resistor R3 1k { a: far, b: gnd }
resistor R4 1k { a: R5.a, b: gnd }
resistor R5 1k { a: R4.a, b: gnd }
`);
    expect(circuit.problems).toEqual([]);
    expect(["R1", "R2", "R3"].map((reference) => wiring(circuit, reference).a)).toEqual([
      "far",
      "far",
      "far",
    ]);
    expect(wiring(circuit, "R4").a).toBe(wiring(circuit, "R5").a);
    const self = circuitOf("resistor R6 1k { a: R6.a, b: gnd }\n");
    expect(wiring(self, "R6").a).toBe("R6.a");
  });

  it("tell a terminal that the part has not, with its near name", () => {
    const text =
      "valve V3 EL84 { plate: p, screen: s, grid: g, cathode: k }\nV3.cathod -- resistor R1 1k -- gnd\n";
    const { problems } = circuitOf(text);
    expect(tellings(text)).toEqual(["circuit/unknown-terminal: V3.cathod"]);
    expect(problems[0].message).toContain("cathode");
    expect(problems[0].fix?.text).toBe("V3.cathode");
    expect(tellings("a -- resistor R1 1k -- b\nR1.wiper -- resistor R2 1k -- c\n")).toEqual([
      "circuit/unknown-terminal: R1.wiper",
    ]);
    expect(
      tellings("transformer T1 { heater 6.3V 1A { h1 h2 } }\nT1.heater.3 -- resistor R1 1k -- gnd\n"),
    ).toEqual(["circuit/unknown-terminal: T1.heater.3"]);
  });

  it("tell a part that is not there, at its name", () => {
    const text = "a -- resistor R12 1k -- b\nR13.a -- resistor R2 1k -- c\n";
    expect(tellings(text)).toEqual(["circuit/unknown-reference: R13"]);
    expect(circuitOf(text).problems[0].fix?.text).toBe("R12");
  });

  it("keep case apart", () => {
    const circuit = circuitOf("P1 -- resistor R1 1k -- p1\n");
    expect(netNames(circuit)).toEqual(["P1", "p1"]);
  });
});

describe("nets", () => {
  it("are numbered in the order of writing, with every place that names them", () => {
    const text =
      "HT1 -- choke L1 10H -- HT2 -- resistor R1 1k -- HT3\nHT2 -- capacitor C1 1u 50V film -- gnd\n";
    const circuit = circuitOf(text);
    expect(netNames(circuit)).toEqual(["HT1", "HT2", "HT3", "gnd"]);
    const places = circuit.nets[1].mentions.map(({ range }) => range.start);
    expect(places).toEqual([text.indexOf("HT2"), text.lastIndexOf("HT2")]);
    expect(circuit.ground).toBe(3);
    expect(circuit.chassis).toBeUndefined();
  });

  it("B+ and B+2 are nets", () => {
    expect(netNames(circuitOf("B+ -- resistor R1 1k -- B+2\n"))).toEqual(["B+", "B+2"]);
  });

  it("are named by metal too", () => {
    const circuit = circuitOf("metal panel\npanel -- bond E3 own-fixing -- chassis\n");
    expect(circuit.metals).toHaveLength(1);
    expect(mentions(circuit, "panel")).toBe(2);
    expect(circuit.chassis).toBe(circuit.netByName.get("chassis"));
  });
});

describe("references written twice", () => {
  it("are told with the first place, and the second part is kept under a number", () => {
    const text = "a -- resistor R1 1k -- b\nb -- resistor R1 2k -- c\n";
    const circuit = circuitOf(text);
    expect(circuit.problems.map((problem) => problem.rule)).toEqual(["circuit/duplicate-reference"]);
    const [problem] = circuit.problems;
    expect(problem.place.range.start).toBe(text.lastIndexOf("R1"));
    expect(problem.related?.[0].place.range.start).toBe(text.indexOf("R1"));
    expect(circuit.parts).toHaveLength(2);
    expect(partOf(circuit, "resistor", "R1").ohms.value).toBe(1000);
    expect(new Set(circuit.parts.map((part) => part.reference)).size).toBe(2);
  });

  it("are told across kinds", () => {
    const text = "a -- resistor X1 1k -- b\na -- capacitor X1 1u 50V film -- b\n";
    expect(tellings(text)).toEqual(["circuit/duplicate-reference: X1"]);
    expect(
      tellings("valve R1 EL84 { plate: a, grid: b, screen: c, cathode: d }\na -- resistor R1 1k -- b\n"),
    ).toEqual(["circuit/duplicate-reference: R1"]);
  });
});

describe("blocks", () => {
  const stage = `block gain(in, out, ht) {
  in -- resistor R1 1M 0.5W -- gnd
  valve V1 EF86 { plate: out, grid: in, cathode: k1, screen: s1 }
  k1 -- resistor R2 1k5 0.5W -- gnd
  ht -- resistor R3 100k 1W -- out
  s1 -- resistor R4 330k 0.5W -- ht
}
`;

  it("give each use parts and nets of its own, and share gnd and chassis", () => {
    const circuit = circuitOf(`${stage}use gain(in1, p1, HT3) as N
use gain(p1, p2, HT3) as M
`);
    expect(circuit.problems).toEqual([]);
    expect(circuit.parts.map((part) => part.reference)).toEqual([
      ...["N.R1", "N.V1", "N.R2", "N.R3", "N.R4"],
      ...["M.R1", "M.V1", "M.R2", "M.R3", "M.R4"],
    ]);
    expect(wiring(circuit, "N.R1")).toEqual({ a: "in1", b: "gnd" });
    expect(wiring(circuit, "N.R2")).toEqual({ a: "N.k1", b: "gnd" });
    expect(wiring(circuit, "M.R1")).toEqual({ a: "p1", b: "gnd" });
    expect(wiring(circuit, "N.V1")).toMatchObject({ plate: "p1", cathode: "N.k1" });
    expect(netNames(circuit)).not.toContain("k1");
  });

  it("may be used above where they are written", () => {
    const circuit = circuitOf(`use gain(in1, p1, HT3) as N\n${stage}`);
    expect(circuit.problems).toEqual([]);
    expect(circuit.partByReference.has("N.R1")).toBe(true);
  });

  it("an argument is a use of its net, whatever the block does with it", () => {
    const circuit = circuitOf("block b(x, y) { x -- resistor R1 1k -- gnd }\nuse b(p, q) as N\n");
    // Once where it is passed in, once inside.
    expect(mentions(circuit, "p")).toBe(2);
    expect(mentions(circuit, "q")).toBe(1);
  });

  it("their inner parts and nets may be named from outside", () => {
    const circuit = circuitOf(`${stage}use gain(in1, p1, HT3) as N
N.k1 -- capacitor C1 25u 25V electrolytic -- gnd
N.R1.a -- resistor R9 68k 0.5W -- jackTip
N.V1.screen -- capacitor C2 100n 400V film -- gnd
measured N.k1 1.2V
measured N.R3 1mA
waive valve/grid-stopper on N.V1 because "short lead"
`);
    expect(circuit.problems).toEqual([]);
    expect(wiring(circuit, "C1").plus).toBe("N.k1");
    expect(wiring(circuit, "R9").a).toBe("in1");
    expect(wiring(circuit, "C2").a).toBe("N.s1");
    expect(circuit.measurements.map((one) => one.target)).toMatchObject([
      { kind: "net", name: "N.k1" },
      { kind: "through", reference: "N.R3" },
    ]);
    expect(circuit.waivers[0].on).toBe("N.V1");
  });

  it("names inside mean the stage's own things", () => {
    const circuit = circuitOf(`block b(x) {
  x -- resistor R1 1k -- m
  R1.b -- resistor R2 1k -- gnd
  measured m 3V
  waive rating/resistor-power on R1 because "see R1"
}
a -- resistor R1 5k -- b
use b(a) as N
`);
    expect(circuit.problems).toEqual([]);
    expect(wiring(circuit, "N.R2").a).toBe("N.m");
    expect(circuit.measurements[0].target).toMatchObject({ kind: "net", net: circuit.netByName.get("N.m") });
    expect(circuit.waivers[0].on).toBe("N.R1");
  });

  it("take a valve section, so that two stages share a bottle", () => {
    const circuit = circuitOf(`block gain(in, out, ht, v) {
  valve v { plate: out, grid: in, cathode: k }
  ht -- resistor R1 100k 1W -- out
  k -- resistor R2 1k5 0.5W -- gnd
  v.cathode -- capacitor C1 25u 25V electrolytic -- gnd
}
valve V1 ECC83 { heater: h1 h2 }
use gain(in1, p1, HT3, V1.a) as N
use gain(p1, p2, HT3, V1.b) as M
`);
    expect(circuit.problems).toEqual([]);
    const valves = circuit.parts.filter((part) => part.kind === "valve");
    expect(valves).toHaveLength(1);
    const valve = partOf(circuit, "valve", "V1");
    expect(valve.sections.map((section) => section.name)).toEqual(["a", "b"]);
    expect(wiring(circuit, "V1")).toEqual({
      "a.plate": "p1",
      "a.grid": "in1",
      "a.cathode": "N.k",
      "b.plate": "p2",
      "b.grid": "p1",
      "b.cathode": "M.k",
      "heater.1": "h1",
      "heater.2": "h2",
    });
    expect(wiring(circuit, "N.C1").plus).toBe("N.k");
    // The argument that is a section is no net.
    expect(netNames(circuit)).not.toContain("V1.a");
  });

  it("take a whole valve, and pass either on to a block inside", () => {
    const circuit = circuitOf(`block inner(p, v) { valve v { plate: p, grid: g, cathode: k } }
block outer(p, v) { use inner(p, v) as I }
valve V1 ECC83 { heater: h1 h2 }
use outer(p1, V1.b) as N
block power(v) { valve v { plate: pA, screen: sA, grid: gA, cathode: kA } }
valve V3 EL84 { heater: h1 h2 }
use power(V3) as P
`);
    expect(circuit.problems).toEqual([]);
    expect(wiring(circuit, "V1")).toMatchObject({ "b.plate": "p1", "b.grid": "N.I.g" });
    expect(wiring(circuit, "V3")).toMatchObject({ plate: "P.pA", cathode: "P.kA" });
  });

  it("take a terminal written elsewhere for a net", () => {
    const circuit = circuitOf(`block load(x) { x -- resistor R1 100k 1W -- HT }
valve V1 EL84 { plate: pA, screen: s, grid: g, cathode: k }
use load(V1.plate) as N
`);
    expect(circuit.problems).toEqual([]);
    expect(wiring(circuit, "N.R1")).toEqual({ a: "pA", b: "N.HT" });
  });

  it("tell a part where a net is wanted", () => {
    const text =
      "block b(v) { valve v EL84 { plate: p }\n v -- resistor R1 1k -- gnd }\nvalve V1 EL84 { grid: g }\nuse b(V1) as N\n";
    expect(circuitOf(text).problems.map((problem) => problem.rule)).toContain("circuit/unknown-terminal");
  });

  it.each([
    ["an unknown block, with a near one", `${stage}use gian(a, b, c) as N\n`, "circuit/unknown-block: gian"],
    ["too few arguments", `${stage}use gain(a, b) as N\n`, "circuit/block-arguments: use gain(a, b) as N"],
    ["too many arguments", `${stage}use gain(a, b, c, d) as N\n`, "circuit/block-arguments: d"],
    [
      "a stage called twice",
      `${stage}use gain(a, b, c) as N\nuse gain(d, e, f) as N\n`,
      "circuit/duplicate-reference: N",
    ],
    [
      "a block called twice",
      `${stage}block gain(x) { x -- resistor R1 1k -- gnd }\n`,
      "circuit/duplicate-reference: gain",
    ],
    [
      "a parameter called twice",
      "block b(x, x) { x -- resistor R1 1k -- gnd }\n",
      "circuit/duplicate-reference: x",
    ],
    ["a block that uses itself", "block b(x) { use b(x) as I }\nuse b(a) as N\n", "circuit/unknown-block: b"],
    [
      "blocks that use each other",
      "block b(x) { use c(x) as I }\nblock c(x) { use b(x) as I }\nuse b(a) as N\n",
      "circuit/unknown-block: b",
    ],
  ])("tell %s", (_, text, expected) => {
    expect(tellings(text)).toEqual([expected]);
  });

  it("stop before uses of uses fill the memory", () => {
    const levels = Array.from({ length: 12 }, (_, level) =>
      level === 0
        ? "block b0(x) { x -- resistor R1 1k -- gnd }"
        : `block b${level}(x) {\n${Array.from({ length: 6 }, (_, use) => `use b${level - 1}(x) as U${use}`).join("\n")}\n}`,
    );
    const circuit = circuitOf(`${levels.join("\n")}\nuse b11(a) as N\n`);
    expect(circuit.problems.some((problem) => problem.rule === "circuit/include")).toBe(true);
    expect(circuit.parts.length).toBeLessThan(200_001);
  });

  it("places in a block are those of its text, for each use", () => {
    const text = "block b(x) { x -- resistor R1 22n -- gnd }\nuse b(a) as N\nuse b(c) as M\n";
    const { problems } = circuitOf(text);
    expect(problems.map((problem) => problem.on[0])).toEqual(["N.R1", "M.R1"]);
    for (const { place } of problems) expect(text.slice(place.range.start, place.range.end)).toBe("22n");
  });
});
