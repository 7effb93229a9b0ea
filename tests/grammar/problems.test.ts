/** What a wrong line costs, what is said of it, and where. */
import { describe, expect, it } from "vitest";
import { parse } from "../../grammar/parse.ts";
import { statement } from "./plain.ts";

/** `|message` marks, in a text without its marks, where the problem begins and ends: `a -- «b»`. */
function expectProblem(marked: string, message: string | RegExp, statements: readonly string[] = []): void {
  const start = marked.indexOf("«");
  const end = marked.indexOf("»") - 1;
  const text = marked.replace("«", "").replace("»", "");
  const tree = parse(text);
  expect(tree.problems.map(({ message: told }) => told)).toEqual([
    typeof message === "string" ? message : expect.stringMatching(message),
  ]);
  expect(tree.problems[0].rule).toBe("circuit/syntax");
  expect(tree.problems[0].range).toEqual({ start, end });
  expect(tree.statements.map(statement)).toEqual(statements);
}

describe("references and kinds", () => {
  it("a reference left out", () => {
    expectProblem(
      "a -- «resistor» 10k -- b",
      "A resistor needs a reference such as R7 right behind the word resistor.",
      ["a -- resistor - [10000] -- b"],
    );
    expectProblem(
      "«output-transformer» 20W { plates 8k { a b } }",
      "An output-transformer needs a reference such as T2 right behind the word output-transformer.",
      ["output-transformer - [20 watt] { plates [8000] { a b } }"],
    );
    expectProblem("a -- «capacitor» electrolytic 32u -- b", /^A capacitor needs a reference such as C7/, [
      "a -- capacitor - ['electrolytic'] [0.000032] -- b",
    ]);
    expectProblem("a -- «fuse» T500mA 250V -- b", /^A fuse needs a reference such as F1/, [
      "a -- fuse - [fuse T 0.5] [250 volt] -- b",
    ]);
    expectProblem("a -- «switch» mains 250V -- b", /^A switch needs a reference such as S1/, [
      "a -- switch - ['mains'] [250 volt] -- b",
    ]);
    expectProblem("«valve» 12AX7 { plate: p }", /^A valve needs a reference such as V1/, [
      "valve - ['12AX7'] { plate: p }",
    ]);
    expectProblem("«resistor»", /^A resistor needs a reference/, ["resistor -"]);
  });
  it("a reference with a mark in it", () => {
    expectProblem(
      "a -- resistor «R-7» 10k -- b",
      "R-7 is no reference: a letter first, then letters, digits and _, such as R7.",
      ["a -- resistor R-7 [10000] -- b"],
    );
  });
  it("a mistyped kind, with near names; the part keeps its place", () => {
    expectProblem(
      "a -- «resitor» R1 10k -- b",
      "There is no kind of part called resitor. Did you mean resistor?",
      ["a -- resitor R1 [10000] -- b"],
    );
    expectProblem(
      "«trasformer» T1 {\n  primary 230V { a b }\n}",
      "No statement begins with trasformer. Did you mean transformer?",
      ["trasformer T1 { primary [230 volt] { a b } }"],
    );
    expectProblem(
      "a -- «Resistor» R1 10k -- b",
      "There is no kind of part called Resistor. Did you mean resistor?",
      ["a -- Resistor R1 [10000] -- b"],
    );
  });
  it("another word of the trade", () => {
    expectProblem("«tube» V1 12AX7 { plate: p }", "No statement begins with tube. Did you mean valve?");
    expectProblem(
      "a -- «inductor» L1 10H -- b",
      "There is no kind of part called inductor. Did you mean choke?",
      ["a -- inductor L1 [10 henry] -- b"],
    );
    expectProblem(
      "«rectifier» D1 { plate1: p }",
      "No statement begins with rectifier. Did you mean valve, bridge or diode?",
    );
  });
  it("a mistyped statement", () => {
    expectProblem("«mesured» HT1 312V", "No statement begins with mesured. Did you mean measured?");
    expectProblem('«ampl» "Wren"', "No statement begins with ampl. Did you mean amp?");
  });
  it("nothing known at all", () => {
    expectProblem("«HT1»", "HT1 stands alone: expected -- and a part behind a net, or a statement.");
    expectProblem("«foo» bar baz", "No statement begins with foo.");
    expectProblem("«R7» 10k 1W", "Expected a kind of part, such as resistor or capacitor; found R7.");
    expectProblem('«"Wren"»', /^Expected a part, a path or another statement/);
    expectProblem("«{» a: b }", "Expected a part before this {: a block belongs to the part on its line.");
  });
});

describe("paths", () => {
  it("two nets, or two parts, side by side", () => {
    expectProblem("a -- «b»", "Two nets stand side by side: expected a part between a and b.");
    expectProblem("a -- resistor R1 1k -- b -- «c» -- resistor R2 2k -- d", /^Two nets stand side by side/, [
      "a -- resistor R1 [1000] -- b",
      "c -- resistor R2 [2000] -- d",
    ]);
    expectProblem(
      "a -- resistor R1 1k -- «resistor» R2 2k -- b -- resistor R3 3k -- c",
      "Two parts stand side by side: expected a net between them.",
      ["b -- resistor R3 [3000] -- c"],
    );
  });
  it("an unfinished path costs its own line, even where it ends in --", () => {
    const next = "b -- resistor R2 1k -- c";
    const kept = ["b -- resistor R2 [1000] -- c"];
    expectProblem(
      `a --«»\n${next}`,
      "Expected a part, such as resistor R7 10k behind this --: the line ends here.",
      kept,
    );
    expectProblem(
      `a -- resistor R1 1k --«»\n${next}`,
      "Expected a net behind this --: the line ends here.",
      kept,
    );
    expectProblem(
      `a -- resistor R1 1k«»\n${next}`,
      "The path ends in a part: expected -- and the net on its other side.",
      kept,
    );
    expectProblem(
      `a -- resistor R1 1k -- x -- capacitor C1 1u«»  # soon\n${next}`,
      /^The path ends in a part/,
      ["a -- resistor R1 [1000] -- x", ...kept],
    );
  });
  it("-- left out or doubled", () => {
    expectProblem("a «resistor» R1 1k -- b", "Expected -- between the net a and the resistor.", [
      "a -- resistor R1 [1000] -- b",
    ]);
    expectProblem("a -- resistor R1 1k -- b «c» -- wire -- d", "Expected -- behind the net b; found c.", [
      "a -- resistor R1 [1000] -- b -- wire - -- d",
    ]);
    expectProblem("a --«» -- resistor R1 1k -- b", /^Expected a part, .* between these two --\.$/, [
      "a -- resistor R1 [1000] -- b",
    ]);
  });
  it("no net at its beginning", () => {
    expectProblem("«--» resistor R1 1k -- b", "Expected a net before this --: a path begins with a net.");
    expectProblem("resistor R1 1k «--» b", "A path begins with a net: net -- part -- net.");
  });
  it("a value or a reference without its kind", () => {
    expectProblem(
      "a -- «10k» -- b",
      "Expected a kind and a reference before the value 10k, such as resistor R7 10k.",
    );
    expectProblem("a -- «R1» 10k -- b", "Expected a kind before R1, such as resistor R1 10k.");
  });
  it("a block in a path", () => {
    expectProblem(
      "a -- switch S2 «{» common: x } -- b",
      "A part in a path has no block: its nets are those on its left and right.",
    );
  });
  it("a net's name that is none is told, and kept", () => {
    expectProblem(
      "a -- wire W1 -- «B-»",
      "B- is no name for a net: letters, digits and _, and + behind the first letter.",
      ["a -- wire W1 -- B-"],
    );
    expectProblem("«+B» -- wire W1 -- a", /^\+B is no name for a net/, ["+B -- wire W1 -- a"]);
  });
});

describe("braces", () => {
  const next = "a -- wire W9 -- b";
  const kept = "a -- wire W9 -- b";
  it("an unclosed { ends at the next statement, whatever that is", () => {
    const statements: readonly [string, string][] = [
      [next, kept],
      ["valve V2 EL84 { plate: q }", "valve V2 ['EL84'] { plate: q }"],
      ["speaker LS1 15R { a: x, b: y }", "speaker LS1 [15 ohm] { a: x | b: y }"],
      ["mains 230 V", "mains [230 volt]"],
      ['amp "Wren"', 'amp "Wren"'],
      ["measured HT1 300V", "measured HT1 [300 volt]"],
      ['waive a/b because "c"', "waive a/b on undefined because c until undefined"],
      ["assume ambient 50C", "assume ambient [50 celsius]"],
      ["metal panel", "metal panel"],
      ["use gain(a) as N", "use gain(a) as N"],
      ["block gain(a) {\n  a -- wire W1 -- b\n}", "block gain(a) { a -- wire W1 -- b }"],
      ['include "x.ampnet"', 'include "x.ampnet"'],
    ];
    for (const [text, understood] of statements) {
      expectProblem(
        `valve V1 EL84 «{» plate: p\n${text}`,
        "This { is never closed: expected } after its last item.",
        ["valve V1 ['EL84'] { plate: p }", understood],
      );
      expectProblem(`transformer T1 «{»\n  primary 230V { a b }\n\n# next\n${text}`, /never closed/, [
        "transformer T1 { primary [230 volt] { a b } }",
        understood,
      ]);
    }
  });
  it("a part just begun is not yet one", () => {
    expectProblem(`valve V9 «{»\n${next}`, /never closed/, [kept]);
  });
  it("a row that is not closed ends at the next row, or where its part does", () => {
    expectProblem(`transformer T1 {\n  ht 50V «{» a b\n  heater 6.3V { c d }\n}\n${next}`, /never closed/, [
      "transformer T1 { ht [50 volt] { a b } | heater [6.3 volt] { c d } }",
      kept,
    ]);
    expectProblem(`transformer T1 {\n  ht 50V { a b }\n  heater 6.3V «{» c d\n}\n${next}`, /never closed/, [
      "transformer T1 { ht [50 volt] { a b } | heater [6.3 volt] { c d } }",
      kept,
    ]);
  });
  it("in a block of statements", () => {
    expectProblem(`block g(a) {\n  valve v «{» plate: a\n}\n${next}`, /never closed/, [
      "block g(a) { valve v { plate: a } }",
      kept,
    ]);
    expectProblem(`block g(a) «{»\n  a -- wire W1 -- c\n${next}`, /never closed/, [
      "block g(a) { a -- wire W1 -- c }",
      kept,
    ]);
  });
  it("a winding named like a kind does not end the block that it is in, even at the margin", () => {
    const tree = parse("output-transformer T2 {\nplates 8k { a b c }\nspeaker 15R { spk gnd }\n}");
    expect(tree.problems).toEqual([]);
  });
  it("a } too many", () => {
    expectProblem(
      `valve V1 EL84 { plate: p } «}»\n${next}`,
      "This } closes nothing: there is no open { before it.",
      ["valve V1 ['EL84'] { plate: p }", kept],
    );
  });
  it("a { on a line of its own still belongs to its part", () => {
    expectProblem(
      `valve V1 EL84\n«{»\n  plate: p\n}\n${next}`,
      /^A { belongs at the end of the line that it opens/,
      ["valve V1 ['EL84'] { plate: p }", kept],
    );
  });
  it("three deep", () => {
    expectProblem("valve V1 EL84 { a { b «{» c } d: e } }", /^Braces go two deep at most/, [
      "valve V1 ['EL84'] { a { d: e } }",
    ]);
  });
  it("a block in a block", () => {
    expectProblem(
      `block g(a) {\n  «block» h(b) {\n    a -- wire W1 -- b\n  }\n  a -- wire W2 -- c\n}\n${next}`,
      "A block cannot stand inside another block.",
      ["block g(a) { a -- wire W2 -- c }", kept],
    );
  });
});

describe("a wrong item costs that item alone", () => {
  const kept = "valve V3 ['EL84'] { plate: p | cathode: k }";
  it.each([
    ["«grid g»", "Expected : between a terminal and its net: grid: g."],
    ["grid«»", "Expected : and a net behind grid, such as grid: k1; found ,."],
    ["grid:«»", "Expected the net that grid sits on, such as grid: k1; found ,."],
    ['grid: «"g"»', /^Expected the net that grid sits on/],
    ['grid: g «"x"»', 'Expected a comma or a line end; found "x".'],
    ['«"x"» grid: g', /^Expected a terminal and its net/],
    ["«--» g", /^Expected a terminal and its net/],
    ["«(» grid: g )", /^Expected a terminal and its net/],
    ["g «--» resistor R1 1k", /^Expected a terminal and its net/],
  ])("%s", (marked, message) => {
    expectProblem(`valve V3 EL84 { plate: p, ${marked}, cathode: k }`, message, [kept]);
    const comma = typeof message === "string" ? message.replace("found ,.", "the line ends here.") : message;
    if (typeof message !== "string" || !message.includes("found ,")) {
      expectProblem(`valve V3 EL84 {\n  plate: p\n  ${marked}\n  cathode: k\n}`, comma, [kept]);
    }
  });
  it("a missing comma costs nothing", () => {
    expectProblem(
      "valve V3 EL84 { plate: p «cathode»: k }",
      "Expected a comma or a line end before cathode.",
      [kept],
    );
    expectProblem("valve V1 X { a { plate: p «grid»: g } }", "Expected a comma or a line end before grid.", [
      "valve V1 ['X'] { a { plate: p; grid: g } }",
    ]);
  });
  it("inside a section", () => {
    expectProblem(
      'valve V1 X {\n  a { plate: p, grid: «"g"», cathode: k }\n  heater: h1 h2\n}',
      /^Expected the net/,
      ["valve V1 ['X'] { a { plate: p; cathode: k } | heater: h1 h2 }"],
    );
    expectProblem(
      "valve V1 X { a { plate: p, «g», cathode: k } }",
      "Expected a terminal before the net g, such as plate: g.",
      ["valve V1 ['X'] { a { plate: p; cathode: k } }"],
    );
  });
  it("a winding with a wrong net among its nets is not taken for one with fewer", () => {
    expectProblem('transformer T1 {\n  ht 50V { a «"b"» c }\n  heater 6.3V { d e }\n}', /^Expected a net/, [
      "transformer T1 { heater [6.3 volt] { d e } }",
    ]);
  });
  it("a winding without its nets", () => {
    expectProblem(
      "transformer T1 {\n  ht 50V 1A«»\n  heater 6.3V { d e }\n}",
      "Expected nets in braces behind the row ht: ht 50V 1A { a b }; the line ends here.",
      ["transformer T1 { heater [6.3 volt] { d e } }"],
    );
  });
});

describe("statements of one line", () => {
  it.each([
    [
      "amp «Wren»",
      'Expected the amplifier\'s name in double quotes, such as amp "Wattlebird 18"; found Wren.',
    ],
    ["amp«»", /the line ends here\.$/],
    ['amp «"Wren»', /this quotation mark has no partner on its line\.$/],
    ["include «x.ampnet»", /^Expected a file name in double quotes/],
    ["mains«»", /^Expected a voltage, a frequency and a region/],
    ["metal«»", /^Expected the net that the metal is/],
    ["assume ambient«»", /^Expected what is assumed and its value/],
    ["measured HT1«»", /^Expected a net, a terminal or a part and its reading/],
    ["measured HT1 «at» mains 230V", /found at\.$/],
    ["measured HT1 «high»", "Expected a reading, such as 312V, 85mA or 0.08R; found high."],
    ["measured HT1 312V «11V»", "Expected one value only; found 11V."],
    ["measured HT1 312V at «mains»", /^Expected what it was taken at/],
    ["measured HT1 312V at«»", /the line ends here/],
    ["waive«»", /^Expected the rule to waive/],
    ["waive a/b on«»", /^Expected the part or net that it is waived for/],
    ["waive a/b because «why»", /^Expected the reason in double quotes/],
    [
      'waive a/b because "why" until «soon»',
      "soon is no date: expected year-month-day, such as until 2027-03-01.",
    ],
    ['waive a/b because "why" until «2027-13-01»', /no date/],
    ["use «(»a) as N", /^Expected the block's name/],
    ["use gain«»", /^Expected \( and the nets to pass/],
    ["use gain(a «b») as N", /^Expected \) after the nets that are passed/],
    ["use gain(a, b)«»", /^Expected as and a prefix/],
    ["use gain(a) as «N-1»", /^N-1 is no prefix/],
    ["block«»", /^Expected the block's name/],
    ["resistor R1 4«,»7k { a: x, b: y }", /a decimal is written with a point/],
    ["mains 230 V«,» 50 Hz", /^A comma separates nothing here/],
  ])("%s", (marked, message) => {
    expectProblem(`${marked}\nx -- wire W1 -- y`, message, ["x -- wire W1 -- y"]);
  });
  it("a waiver without a reason is told; it is kept, for the checks to judge", () => {
    expectProblem("waive a/b on C1«»", /^Expected because and the reason/, [
      "waive a/b on C1 because undefined until undefined",
    ]);
  });
  it("a block whose head is wrong keeps what is in it to itself", () => {
    expectProblem(
      "block gain «{»\n  a -- wire W1 -- b\n}\nx -- wire W2 -- y",
      /^Expected \( and the block's nets/,
      ["block gain() { a -- wire W1 -- b }", "x -- wire W2 -- y"],
    );
  });
  it("more behind a finished statement", () => {
    expectProblem('amp "Wren" «18»', "Expected the end of the line; found 18.", ['amp "Wren"']);
    expectProblem("valve V1 X { plate: p } «valve» V2 X", "Expected the end of the line; found valve.", [
      "valve V1 ['X'] { plate: p }",
    ]);
  });
});

describe("one line, one problem", () => {
  it("the first of a line is told", () => {
    const tree = parse('a -- resitor 10k ) "x\nb -- -- c -- -- d\namp\n');
    expect(tree.problems).toHaveLength(3);
  });
  it("and every wrong line is told", () => {
    const tree = parse(Array.from({ length: 50 }, (_, index) => `net${index} --`).join("\n"));
    expect(tree.problems).toHaveLength(50);
  });
});
