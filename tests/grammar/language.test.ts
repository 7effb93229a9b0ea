/** Every rule of the language, one example or more for each, and what exactly is understood. */
import { describe, expect, it } from "vitest";
import { parse } from "../../grammar/parse.ts";
import { statement } from "./plain.ts";

/** The statements of a text that has no problem, as short text. */
function read(text: string): string[] {
  const tree = parse(text);
  expect(tree.problems).toEqual([]);
  return tree.statements.map(statement);
}
const one = (text: string) => read(text).join("\n");

describe("lines", () => {
  it("a statement ends at the line's end", () => {
    expect(read('amp "Wren"\nmetal panel')).toEqual(['amp "Wren"', "metal panel"]);
  });
  it.each([
    ["\\n", "\n"],
    ["\\r\\n", "\r\n"],
    ["\\r", "\r"],
  ])("with %s", (_, end) => {
    const text = [
      'amp "Wren"',
      "a -- wire W1 -- b",
      "  -- wire W2 -- c  # on",
      "",
      "valve V1 EL84 {",
      "plate: p",
      "}",
      "",
    ];
    expect(read(text.join(end))).toEqual([
      'amp "Wren"',
      "a -- wire W1 -- b -- wire W2 -- c",
      "valve V1 ['EL84'] { plate: p }",
    ]);
  });
  it("a byte-order mark, tabs, odd blanks and a missing last line end do no harm", () => {
    expect(read('\uFEFFamp\t"Wren"\u00A0\n\ta\t--\twire\u00A0W1\t--\tb')).toEqual([
      'amp "Wren"',
      "a -- wire W1 -- b",
    ]);
  });
  it("inside braces items are separated by commas or line ends", () => {
    const expected = "valve V3 ['EL84'] { plate: p | screen: s | grid: g }";
    expect(one("valve V3 EL84 { plate: p, screen: s, grid: g }")).toBe(expected);
    expect(one("valve V3 EL84 {\n  plate: p\n  screen: s\n  grid: g\n}")).toBe(expected);
    expect(one("valve V3 EL84 {\n  plate: p,\n  screen: s, grid: g,\n}")).toBe(expected);
    expect(one("valve V3 EL84 { plate: p,\n  screen: s\n\n  # why\n  grid: g }")).toBe(expected);
  });
  it("a path goes on when the next line begins with --, comments and blank lines between or not", () => {
    const expected = "HT1 -- choke L1 [10 henry] -- HT2 -- resistor R20 [10000] -- HT3";
    expect(one("HT1 -- choke L1 10H -- HT2 -- resistor R20 10k -- HT3")).toBe(expected);
    expect(one("HT1 -- choke L1 10H\n  -- HT2\n-- resistor R20 10k -- HT3")).toBe(expected);
    expect(one("HT1\n  -- choke L1 10H\n  -- HT2\n  -- resistor R20 10k\n  -- HT3")).toBe(expected);
    expect(one("mains  # the net\n\n  -- wire W1 -- source")).toBe("mains -- wire W1 -- source");
    expect(one("HT1 -- choke L1 10H # choke\n# dropper\n\n  -- HT2 -- resistor R20 10k -- HT3")).toBe(
      expected,
    );
  });
  it("# starts a comment anywhere but inside a text", () => {
    expect(read('# one\namp "No. # 5" # two\na -- wire W1#three\n -- b')).toEqual([
      'amp "No. # 5"',
      "a -- wire W1 -- b",
    ]);
  });
  it("an empty text, blanks and comments alone say nothing", () => {
    for (const text of ["", "\n", "  ", "# only", "\n\n# one\n\n"]) expect(read(text)).toEqual([]);
  });
});

describe("parts", () => {
  it("kind, reference, facts and terminals", () => {
    expect(one("pot R7 1M audio 0.25W { top: vol, wiper: g2, bottom: gnd }")).toBe(
      "pot R7 [1000000] ['audio'] [0.25 watt] { top: vol | wiper: g2 | bottom: gnd }",
    );
  });
  it("a reference always follows its kind", () => {
    expect(one("capacitor X1 100n X2 { a: x, b: y }")).toBe("capacitor X1 [1e-7] ['X2'] { a: x | b: y }");
    expect(one("a -- resistor R47 10k -- b")).toBe("a -- resistor R47 [10000] -- b");
    expect(one("a -- resistor R47 R47 -- b")).toBe("a -- resistor R47 [0.47 ohm] -- b");
    expect(one("a -- fuse F1A F1A -- b")).toBe("a -- fuse F1A [fuse F 1] -- b");
  });
  it("it may be left out of wire and bond alone", () => {
    expect(one("inE -- bond own-fixing -- chassis")).toBe("inE -- bond - ['own-fixing'] -- chassis");
    expect(one("inE -- bond -- chassis")).toBe("inE -- bond - -- chassis");
    expect(one("inE -- bond E1 own-fixing -- chassis")).toBe("inE -- bond E1 ['own-fixing'] -- chassis");
    expect(one("a -- wire 0.75mm2 60mm -- b")).toBe("a -- wire - [7.5e-7 square-metre] [0.06 metre] -- b");
    expect(one("a -- wire brown cloth -- b")).toBe("a -- wire - ['brown'] ['cloth'] -- b");
    expect(one("a -- wire W2 brown -- b")).toBe("a -- wire W2 ['brown'] -- b");
    expect(one("a -- wire -- b")).toBe("a -- wire - -- b");
  });
  it.each([
    "resistor",
    "pot",
    "thermistor",
    "capacitor",
    "choke",
    "diode",
    "zener",
    "bridge",
    "valve",
    "transformer",
    "output-transformer",
    "cord",
    "inlet",
    "fuse",
    "switch",
    "bond",
    "wire",
    "jack",
    "lamp",
    "speaker",
    "source",
    "terminal-strip",
  ])("%s is a kind", (kind) => {
    expect(one(`${kind} Q1 { a: x, b: y }`)).toBe(`${kind} Q1 { a: x | b: y }`);
    expect(one(`x -- ${kind} Q1 -- y`)).toBe(`x -- ${kind} Q1 -- y`);
  });
});

describe("paths", () => {
  it("net, part, net, part, net", () => {
    expect(one("k2 -- resistor R9 1k5 0.5W -- tail -- resistor R10 56k 1W -- gnd")).toBe(
      "k2 -- resistor R9 [1500] [0.5 watt] -- tail -- resistor R10 [56000] [1 watt] -- gnd",
    );
  });
  it("-- needs no blanks beside it; a single - stays in its word", () => {
    expect(one("a--bond own-fixing--b")).toBe("a -- bond - ['own-fixing'] -- b");
  });
  it("a net may bear the name of a kind or of a statement: its place decides", () => {
    expect(one("source -- resistor R1 1k -- speaker")).toBe("source -- resistor R1 [1000] -- speaker");
    expect(one("mains -- fuse F1 T1A -- use")).toBe("mains -- fuse F1 [fuse T 1] -- use");
    expect(one("a -- resistor R1 1k -- lamp -- resistor R2 1k -- b")).toBe(
      "a -- resistor R1 [1000] -- lamp -- resistor R2 [1000] -- b",
    );
  });
  it("a switch with its facts", () => {
    expect(one("B+ -- switch S2 standby spst 250V 3A -- HT1")).toBe(
      "B+ -- switch S2 ['standby'] ['spst'] [250 volt] [3 ampere] -- HT1",
    );
  });
});

describe("facts", () => {
  const facts = (text: string) =>
    one(`a -- capacitor C1 ${text} -- b`).slice("a -- capacitor C1 ".length, -" -- b".length);

  it("stand in any order, told apart by their units", () => {
    expect(facts("22n 400V film 5%")).toBe("[2.2e-8] [400 volt] ['film'] [5 percent]");
    expect(facts("film 5% 400V 22n")).toBe("['film'] [5 percent] [400 volt] [2.2e-8]");
  });
  it("carry a word where their unit is taken", () => {
    expect(facts("surge 550V ripple 300mA")).toBe("[surge: 550 volt] [ripple: 0.3 ampere]");
    expect(one("a -- choke L1 10H 100mA dcr 45R -- b")).toBe(
      "a -- choke L1 [10 henry] [0.1 ampere] [dcr: 45 ohm] -- b",
    );
    expect(facts("surge 550 V")).toBe("[surge: 550 volt]");
  });
  it("a word before a value is a fact of its own unless it is such a word", () => {
    expect(facts("carbon-film 5%")).toBe("['carbon-film'] [5 percent]");
    expect(facts("electrolytic 450V")).toBe("['electrolytic'] [450 volt]");
  });
  it("a number and its unit may stand apart", () => {
    expect(facts("22 nF 0.5 W 4.7 kΩ 230 V 50 Hz 1 % 275 VAC")).toBe(
      "[2.2e-8 farad] [0.5 watt] [4700 ohm] [230 volt] [50 hertz] [1 percent] [275 volt ac]",
    );
  });
  it("a value with a unit of its own takes no other", () => {
    expect(facts("22n F")).toBe("[2.2e-8] ['F']");
    expect(one("a -- fuse F1 T500mA 250V H -- b")).toBe("a -- fuse F1 [fuse T 0.5] [250 volt] ['H'] -- b");
  });
  it("keep their text as written", () => {
    const tree = parse("a -- capacitor C1 ½W surge  550 V 4K7 -- b");
    const path = tree.statements[0];
    expect(path.node === "path" && path.parts[0].facts.map(({ text }) => text)).toEqual([
      "½W",
      "surge  550 V",
      "4K7",
    ]);
  });
  it("keep the name of a type that could be a value, as word or as text", () => {
    const types = ["12AX7", "5881", "6V6GTA", "6V6", "5Y3GT", "6L6GC", "7025", "EL84", "ECC83"];
    for (const type of types) {
      const part = parse(`valve V1 ${type} { plate: p }`).statements[0];
      expect(part.node === "part" && part.facts.map(({ text, word }) => word?.text ?? text)).toEqual([type]);
    }
    expect(one("a -- diode D1 1N4007 -- b")).toBe("a -- diode D1 ['1N4007'] -- b");
  });
  it("alternating volts", () => {
    expect(facts("100n X2 275VAC")).toBe("[1e-7] ['X2'] [275 volt ac]");
  });
});

describe("nets", () => {
  it.each([
    "B+",
    "B+2",
    "HT1",
    "k1",
    "gnd",
    "chassis",
    "_a",
    "0V",
    "é2",
    "T1.ht.1",
    "V1.a.plate",
    "J1.tip-break",
    "N.k1",
  ])("%s", (net) => {
    expect(one(`${net} -- wire W1 -- x`)).toBe(`${net} -- wire W1 -- x`);
    expect(one(`x -- wire W1 -- ${net}`)).toBe(`x -- wire W1 -- ${net}`);
    expect(one(`valve V1 EL84 { plate: ${net} }`)).toBe(`valve V1 ['EL84'] { plate: ${net} }`);
  });
  it("case counts", () => {
    expect(one("ht -- wire W1 -- HT")).toBe("ht -- wire W1 -- HT");
  });
});

describe("valves", () => {
  it("sections are blocks", () => {
    const text =
      "valve V1 ECC83 {\n a { plate: p1, grid: g1, cathode: k1 }\n b { plate: p2 }\n heater: h1 h2\n}";
    expect(one(text)).toBe(
      "valve V1 ['ECC83'] { a { plate: p1; grid: g1; cathode: k1 } | b { plate: p2 } | heater: h1 h2 }",
    );
  });
  it("sections stand on one line too, or their terminals on a line each", () => {
    expect(one("valve V1 ECC83 { a { plate: p1 } b { plate: p2 } heater: h1 h2 }")).toBe(
      "valve V1 ['ECC83'] { a { plate: p1 } | b { plate: p2 } | heater: h1 h2 }",
    );
    expect(one("valve V1 ECC83 {\n  a {\n    plate: p1\n    grid: g1\n  }\n  heater: h1 h2\n}")).toBe(
      "valve V1 ['ECC83'] { a { plate: p1; grid: g1 } | heater: h1 h2 }",
    );
  });
  it("or are written on their own, and the heater once", () => {
    expect(one("valve V1.a ECC83 { plate: p1, grid: g1, cathode: k1 }")).toBe(
      "valve V1.a ['ECC83'] { plate: p1 | grid: g1 | cathode: k1 }",
    );
    expect(one("valve V1 ECC83 { heater: h1 h2 }")).toBe("valve V1 ['ECC83'] { heater: h1 h2 }");
  });
  it("the heater's wiring", () => {
    expect(one("valve V1 12AX7 { heater: h1 h2 series }")).toBe(
      "valve V1 ['12AX7'] { heater: h1 h2 ['series'] }",
    );
    expect(one("valve V1 12AX7 { filament: h1 h2 parallel, anode: p }")).toBe(
      "valve V1 ['12AX7'] { filament: h1 h2 ['parallel'] | anode: p }",
    );
  });
  it("a directly heated rectifier", () => {
    expect(one("valve V5 5Y3GT { plate1: p, plate2: q, heater: a b, cathode: a }")).toBe(
      "valve V5 ['5Y3GT'] { plate1: p | plate2: q | heater: a b | cathode: a }",
    );
  });
});

describe("windings", () => {
  const winding = (text: string) =>
    one(`transformer T1 80VA { ${text} }`).slice("transformer T1 [80 voltampere] { ".length, -2);

  it("a name, facts, and the nets in order", () => {
    expect(winding("primary 230V 14R { live inN }")).toBe("primary [230 volt] [14 ohm] { live inN }");
    expect(winding("ht 340-0-340V { htA gnd htB }")).toBe(
      "ht [series 340 volt, 0 volt, 340 volt] { htA gnd htB }",
    );
    expect(winding("bias 50V { b1 gnd }")).toBe("bias [50 volt] { b1 gnd }");
    expect(winding("primary 0-220-240V { n t220 t240 }")).toBe(
      "primary [series 0 volt, 220 volt, 240 volt] { n t220 t240 }",
    );
    expect(winding("ht 300-0-55-300V { a gnd bias b }")).toBe(
      "ht [series 300 volt, 0 volt, 55 volt, 300 volt] { a gnd bias b }",
    );
    expect(winding("heater 0-6.3 V { h1 h2 }")).toBe("heater [series 0 volt, 6.3 volt] { h1 h2 }");
  });
  it("nets are separated by blanks, commas or lines", () => {
    const expected = "ht [290 volt] { a gnd b }";
    for (const nets of ["a gnd b", "a, gnd, b", "a\n gnd\n b\n", "a gnd,\n b"])
      expect(winding(`ht 290V { ${nets} }`)).toBe(expected);
  });
  it("any word names a winding", () => {
    expect(winding("5V 5V 2A { r1 r2 }")).toBe("5V [5 volt] [2 ampere] { r1 r2 }");
    expect(winding("speaker 15R { spk gnd }")).toBe("speaker [15 ohm] { spk gnd }");
  });
  it("no-load, and the direct current of the supply it feeds", () => {
    expect(winding("ht 290-0-290V no-load 110R { a b c }")).toBe(
      "ht [series 290 volt, 0 volt, 290 volt] ['no-load'] [110 ohm] { a b c }",
    );
    expect(winding("ht 50V 120mA dc 110R { a b }")).toBe("ht [50 volt] [0.12 ampere dc] [110 ohm] { a b }");
    expect(winding("ht 120 mA dc 50V { a b }")).toBe("ht [0.12 ampere dc] [50 volt] { a b }");
  });
  it("output transformers", () => {
    const text =
      "output-transformer T2 20W {\n plates 6k6 43% { pA uA HT1 uB pB }\n speaker 4R-8R-16R { gnd s4 s8 s16 }\n}";
    expect(one(text)).toBe(
      "output-transformer T2 [20 watt] { plates [6600] [43 percent] { pA uA HT1 uB pB } | " +
        "speaker [series 4 ohm, 8 ohm, 16 ohm] { gnd s4 s8 s16 } }",
    );
    expect(one("output-transformer T2 { plates 5k 60mA { pA HT1 } }")).toBe(
      "output-transformer T2 { plates [5000] [0.06 ampere] { pA HT1 } }",
    );
  });
});

describe("the other parts", () => {
  it.each([
    [
      "switch S1 mains dpst 250V 6A {\n 1 { common: a, on: b }  2 { common: c, on: d }\n}",
      "switch S1 ['mains'] ['dpst'] [250 volt] [6 ampere] { 1 { common: a; on: b } | 2 { common: c; on: d } }",
    ],
    ["switch S3 tone { common: a, 1: b, 2: c }", "switch S3 ['tone'] { common: a | 1: b | 2: c }"],
    [
      "switch S4 mode spdt centre-off { common: a, on: b, off: c }",
      "switch S4 ['mode'] ['spdt'] ['centre-off'] { common: a | on: b | off: c }",
    ],
    [
      "switch S2 standby 250V 3A dc 400V { common: a, on: b }",
      "switch S2 ['standby'] [250 volt] [3 ampere] [dc: 400 volt] { common: a | on: b }",
    ],
    [
      "pot R7 1M at 40% { top: a, wiper: b, bottom: c }",
      "pot R7 [1000000] [at: 40 percent] { top: a | wiper: b | bottom: c }",
    ],
    [
      "bridge D3 600V 2A { ac1: a, ac2: b, plus: c, minus: d }",
      "bridge D3 [600 volt] [2 ampere] { ac1: a | ac2: b | plus: c | minus: d }",
    ],
    [
      "jack J1 insulated { tip: a, tip-break: b, sleeve: c }",
      "jack J1 ['insulated'] { tip: a | tip-break: b | sleeve: c }",
    ],
    ["a -- fuse F1 F1.6A 250V L -- b", "a -- fuse F1 [fuse F 1.6] [250 volt] ['L'] -- b"],
    ["a -- zener D2 15V 1.3W slope 12R -- b", "a -- zener D2 [15 volt] [1.3 watt] [slope: 12 ohm] -- b"],
    ["a -- thermistor TH1 120R hot 2R 2A -- b", "a -- thermistor TH1 [120 ohm] [hot: 2 ohm] [2 ampere] -- b"],
    ["a -- source B1 250V 100R -- gnd", "a -- source B1 [250 volt] [100 ohm] -- gnd"],
    ["a -- lamp LP1 neon 230V -- b", "a -- lamp LP1 ['neon'] [230 volt] -- b"],
    ["spk -- speaker LS1 15R 25W -- gnd", "spk -- speaker LS1 [15 ohm] [25 watt] -- gnd"],
    [
      "a -- wire W5 0.75mm2 60mm brown 300V cloth -- b",
      "a -- wire W5 [7.5e-7 square-metre] [0.06 metre] ['brown'] [300 volt] ['cloth'] -- b",
    ],
    [
      "a -- resistor R1 100k 1W metal-oxide 350V 2% -- b",
      "a -- resistor R1 [100000] [1 watt] ['metal-oxide'] [350 volt] [2 percent] -- b",
    ],
    ["terminal-strip TS1 { 1: a, 2: b }", "terminal-strip TS1 { 1: a | 2: b }"],
  ])("%s", (text, expected) => {
    expect(one(text)).toBe(expected);
  });
  it("cord and inlet: each lead with its length, colour and cross-section", () => {
    const leads =
      "{\n active: inA 60mm brown\n neutral: inN 60 mm blue\n earth: inE 110mm green-yellow 1.5mm2\n}";
    const understood =
      "{ active: inA [0.06 metre] ['brown'] | neutral: inN [0.06 metre] ['blue'] | " +
      "earth: inE [0.11 metre] ['green-yellow'] [0.0000015 square-metre] }";
    expect(one(`cord W1 1.0mm2 10A anchored ${leads}`)).toBe(
      `cord W1 [0.000001 square-metre] [10 ampere] ['anchored'] ${understood}`,
    );
    expect(one(`inlet J3 10A unanchored ${leads}`)).toBe(`inlet J3 [10 ampere] ['unanchored'] ${understood}`);
  });
});

describe("statements of one line", () => {
  it.each([
    ['amp "Wattlebird 18"', 'amp "Wattlebird 18"'],
    ["mains 230 V 50 Hz AU", "mains [230 volt] [50 hertz] ['AU']"],
    ["mains 120V 60Hz US", "mains [120 volt] [60 hertz] ['US']"],
    ["metal panel", "metal panel"],
    ["assume ambient 50C", "assume ambient [50 celsius]"],
    ["assume mains +10% -6%", "assume mains [10 percent] [-6 percent]"],
    ["assume derate resistor 50%", "assume derate ['resistor'] [50 percent]"],
    ["assume outlet unpolarised", "assume outlet ['unpolarised']"],
    ["measured HT1 312V at mains 236V", "measured HT1 [312 volt] at [mains: 236 volt]"],
    ["measured HT1 312 V at mains 236 V", "measured HT1 [312 volt] at [mains: 236 volt]"],
    ["measured V3.cathode 11.2V", "measured V3.cathode [11.2 volt]"],
    ["measured V3.plate 41mA", "measured V3.plate [0.041 ampere]"],
    ["measured across R14 11V", "measured across R14 [11 volt]"],
    ["measured R14 85mA", "measured R14 [0.085 ampere]"],
    ["measured earth-continuity 0.08R", "measured earth-continuity [0.08 ohm]"],
    ["measured insulation 250M at 500V", "measured insulation [250000000] at [500 volt]"],
    ["measured earth-leakage 0.4mA", "measured earth-leakage [0.0004 ampere]"],
    [
      'waive rating/capacitor-voltage on C21 because "630 V part on order" until 2027-03-01',
      "waive rating/capacitor-voltage on C21 because 630 V part on order until 2027-03-01",
    ],
    [
      'waive mains/cloth-wire because "kept as found"',
      "waive mains/cloth-wire on undefined because kept as found until undefined",
    ],
    ['include "supply.ampnet"', 'include "supply.ampnet"'],
    ["use gain(a, b, HT3) as N", "use gain(a b HT3) as N"],
    ["use gain(in1, out1, HT3, V1.a) as N", "use gain(in1 out1 HT3 V1.a) as N"],
    ["use stage() as N", "use stage() as N"],
  ])("%s", (text, expected) => {
    expect(one(text)).toBe(expected);
  });
});

describe("blocks", () => {
  it("hold statements, a passed section without its type among them", () => {
    const text =
      "block gain(in, out, ht, v) {\n  in -- resistor R1 68k -- g\n\n  valve v { plate: out, grid: g }  # passed\n}";
    expect(one(text)).toBe(
      "block gain(in out ht v) { in -- resistor R1 [68000] -- g | valve v { plate: out | grid: g } }",
    );
  });
  it("in one line, separated by commas", () => {
    expect(one("block pad(a, b) { a -- resistor R1 1k -- b, b -- resistor R2 1k -- gnd }")).toBe(
      "block pad(a b) { a -- resistor R1 [1000] -- b | b -- resistor R2 [1000] -- gnd }",
    );
  });
  it("may use another block", () => {
    expect(read("block two(a) {\n  use one(a) as N\n}\na -- wire W1 -- b")).toEqual([
      "block two(a) { use one(a) as N }",
      "a -- wire W1 -- b",
    ]);
  });
});
