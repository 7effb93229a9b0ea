import { describe, expect, it } from "vitest";
import { codeActions } from "../../server/editor/code-actions.ts";
import { codeLenses, summary } from "../../server/editor/code-lens.ts";
import { completion, resolveCompletion } from "../../server/editor/completion.ts";
import { diagnostics } from "../../server/editor/diagnostics.ts";
import { foldingRanges } from "../../server/editor/folding.ts";
import { formatDocument, formatOnType } from "../../server/editor/formatting.ts";
import { hover } from "../../server/editor/hover.ts";
import { inlayHints } from "../../server/editor/inlay-hints.ts";
import { documentLinks } from "../../server/editor/links.ts";
import { definition, highlights, references } from "../../server/editor/navigate.ts";
import { prepareRename, rename } from "../../server/editor/rename.ts";
import { selectionRanges } from "../../server/editor/selection-ranges.ts";
import { legend, semanticTokens } from "../../server/editor/semantic-tokens.ts";
import { signatureHelp } from "../../server/editor/signature-help.ts";
import { documentSymbols, workspaceSymbols } from "../../server/editor/symbols.ts";
import { applied, marked, open } from "./marked.ts";

const uriOf = (file: string) => `file:///bench/${file}`;
const whole = { start: { line: 0, character: 0 }, end: { line: 999, character: 0 } };

/** A divider whose volts Ohm's law gives: 300 V over 100k and 50k is 100 V at the tap. */
const DIVIDER = `amp "Bench"
source B1 300V { plus: HT, minus: gnd }
HT -- resistor R1 100k 2W 0% -- tap
tap -- resistor R2 50k 1W 0% -- gnd
tap -- capacitor C1 10u 63V electrolytic -- gnd
`;

const hoverText = (text: string): string => {
  const { document, position } = marked(text);
  return (hover(document, position)?.contents as { value: string } | undefined)?.value ?? "";
};

describe("hover", () => {
  it("shows a net's volts in its states, what hangs on it, and the caution", () => {
    const text = hoverText(DIVIDER.replace("-- tap\n", "-- t|ap\n"));
    expect(text).toContain("**tap** · net");
    expect(text).toContain("100 V");
    expect(text).toContain("R1.b, R2.a, C1.plus");
    expect(text).toContain("Lethal voltages");
  });
  it("shows a part's margins with their limit and source, the breach marked", () => {
    const text = hoverText(DIVIDER.replace("C1 10u", "C|1 10u"));
    expect(text).toContain("| capacitor voltage | 100 V |");
    expect(text).toContain("over");
    expect(text).toContain("IEC 60384");
  });
  it("takes unknown volts for lethal, and says why they are unknown", () => {
    const clash = `${DIVIDER}source B2 250V { plus: HT, minus: gnd }\n`;
    const net = hoverText(clash.replace("-- tap\n", "-- t|ap\n"));
    expect(net).toContain("source B2 holds HT at 250 V");
    expect(net).toContain("take them for lethal");
    expect(net).not.toContain("100 V");
    const part = hoverText(clash.replace("C1 10u", "C|1 10u"));
    expect(part).toContain("take them for lethal");
    expect(part).toMatch(
      /Not checked\*\*, because its part of the circuit has no solution: .*capacitor voltage/,
    );
  });
  it("shows a current by Ohm's law: 200 V over 100k", () => {
    expect(hoverText(DIVIDER.replace("R1 100k", "R|1 100k"))).toContain("| R1 | 200 V | 2 mA | 0.4 W |");
  });
  it("writes a quantity out", () => {
    expect(hoverText("a -- resistor R1 4k|7 -- gnd\n")).toContain("4700 ohms");
    expect(hoverText("a -- capacitor C1 22|n 400V film -- gnd\n")).toContain("22 nF");
  });
  it("tells the mains that are reckoned with, and by whose word", () => {
    // AS 60038: 230 V +10 % −6 %.
    for (const text of ["mains 23|0 V 50 Hz AU\n", "mains 230 V 50 Hz A|U\n"]) {
      expect(hoverText(text)).toContain("| 216.2 V | 230 V | 253 V |");
      expect(hoverText(text)).toContain("AS 60038");
      expect(hoverText(text)).toContain("Unplug before opening");
    }
  });
  it("tells what a fact's word, a fuse's letter and an electrode are", () => {
    expect(hoverText("a -- capacitor C1 10u 450V electro|lytic -- gnd\n")).toMatch(/polarised/);
    expect(hoverText("pot RV1 1M au|dio { top: a, wiper: b, bottom: gnd }\n")).toMatch(/Logarithmic/);
    expect(hoverText("a -- fuse F1 T5|00mA 250V -- b\n")).toMatch(/\*\*500 mA\*\*.*Time-lag/);
    expect(hoverText("a -- fuse F1 FF1|A 250V -- b\n")).toMatch(/\*\*1 A\*\*.*Very quick-acting/);
    expect(hoverText("valve V1 GZ34 { pla|te2: a }\n")).toMatch(/anode/);
    expect(hoverText("cord W1 1mm2 { active: a 60mm bro|wn }\n")).toMatch(/conductor's colour/);
  });
  it("explains keywords, kinds and words, and cautions where mains are meant", () => {
    expect(hoverText('wa|ive rating/unrated on R1 because "x"\n')).toContain("Hides a finding");
    expect(hoverText("a -- cho|ke L1 10H -- b\n")).toContain("choke");
    expect(hoverText("inE -- bond E1 own-fi|xing -- chassis\n")).toContain("Unplug");
  });
  it("shows a bottle's section by name or letter, with its own limits and pins, and a net by its terminal", () => {
    const bottle = (one: string, other: string, net = "HT") => `source B1 200V { plus: HT, minus: gnd }
valve V1 ECL82 {
  ${one} { plate: HT, grid: gnd, cathode: k1 }
  ${other} { plate: HT, screen: HT, grid: gnd, cathode: k2 }
}
k1 -- resistor R1 1k 1W -- gnd
k2 -- resistor R2 390R 2W -- gnd
${net} -- resistor R3 100k 1W -- gnd
`;
    for (const [one, other] of [
      ["triode", "pen|tode"],
      ["a", "b|"],
    ]) {
      const text = hoverText(bottle(one, other));
      expect(text, other).toContain("**V1.pentode** · valve · ECL82");
      expect(text, other).toContain("plate dissipation");
      expect(text, other).toContain("7 W");
      expect(text, other).toMatch(/pentode screen \| 7 \|/);
      expect(text, other).not.toContain("triode grid");
    }
    expect(hoverText(bottle("tri|ode", "pentode"))).toMatch(/triode cathode \| 8 \|/);
    expect(hoverText(bottle("triode", "pentode", "V1.b.cat|hode"))).toContain("**k2** · net");
    expect(hoverText(bottle("a", "b", "V1.pentode.cat|hode"))).toContain("**k2** · net");
  });
  it("tells of a rule in a waiver", () => {
    expect(hoverText('waive mains/fuse-|first on F1 because "x"\n')).toContain(
      "The active must come to the fuse",
    );
  });
  it("says nothing between words", () => {
    const { document, position } = marked("\n|\n");
    expect(hover(document, position)).toBeUndefined();
  });
});

describe("diagnostics", () => {
  it("stand at the finding's place with code, page and data", () => {
    const { result } = open(DIVIDER);
    const found = diagnostics(result, "main.ampnet", { uriOf, pageOf: (rule) => `page:${rule}` });
    const over = found.find(({ code }) => code === "rating/capacitor-voltage");
    expect(over?.severity).toBe(1);
    expect(over?.range.start.line).toBe(4);
    expect(over?.codeDescription?.href).toBe("page:rating/capacitor-voltage");
    expect(over?.data).toBeDefined();
  });
  it("are those of the file asked for alone", () => {
    const { result } = open(`include "more.ampnet"\n${DIVIDER}`, {
      "more.ampnet": "tap -- resistor R9 22uF -- gnd\n",
    });
    const own = diagnostics(result, "more.ampnet", { uriOf });
    expect(own.length).toBeGreaterThan(0);
    expect(own.every(({ range }) => range.start.line === 0)).toBe(true);
  });
});

describe("inlay hints", () => {
  const labels = (show: "all" | "line" | "off") =>
    inlayHints(open(DIVIDER), whole, { state: "idle", level: "nominal", show }).map(({ label }) => label);
  it("stand at each net once a line, or at every mention, or nowhere", () => {
    expect(labels("line")).toContain("100 V");
    expect(labels("all").length).toBeGreaterThanOrEqual(labels("line").length);
    expect(labels("off")).toEqual([]);
  });
  it("leave circuit common alone", () => {
    expect(labels("all")).not.toContain("0 V");
  });
});

describe("navigation", () => {
  it("goes from a use of a part to its statement, and finds all its names", () => {
    const text = `${DIVIDER}measured across R|2 100V\n`;
    const { document, position } = marked(text);
    expect(definition(document, position, uriOf)?.range.start.line).toBe(3);
    expect(references(document, position, true, uriOf)).toHaveLength(2);
    expect(references(document, position, false, uriOf)).toHaveLength(1);
  });
  it("follows a net into an included file", () => {
    const { document, position } = marked(
      `include "more.ampnet"\n${DIVIDER.replace("-- tap\n", "-- t|ap\n")}`,
      {
        "more.ampnet": "tap -- resistor R9 22k -- gnd\n",
      },
    );
    expect(references(document, position, true, uriOf).map(({ uri }) => uri)).toContain(
      "file:///bench/more.ampnet",
    );
  });
  it("highlights within the file", () => {
    const { document, position } = marked(DIVIDER.replace("-- tap\n", "-- t|ap\n"));
    expect(highlights(document, position)).toHaveLength(3);
  });
});

describe("the fix of everything at once, which may run at every save", () => {
  const actions = (text: string) => {
    const document = open(text);
    const end = { line: 99, character: 0 };
    return codeActions(
      document,
      { start: { line: 0, character: 0 }, end },
      { uriOf, diagnostics: [], only: ["source.fixAll"] },
    );
  };
  it("puts right what is written wrong, and changes no part of the amplifier", () => {
    // A capacitor past its volts has a fix, a net used once another; a material is written wrong.
    expect(actions(DIVIDER)).toEqual([]);
    const [action] = actions(
      `${DIVIDER}HT -- capacitor C9 100n 630V flim -- gnd\nHT -- resistor R8 470k 2W 500V -- tpa\n`,
    );
    const edits = Object.values(action.edit?.changes ?? {}).flat();
    expect(edits.map(({ newText }) => newText)).toEqual(["film"]);
  });
});

describe("rename", () => {
  it("renames a net wherever it is named, and the circuit stays the same", () => {
    const { document, position } = marked(DIVIDER.replace("-- tap\n", "-- t|ap\n"));
    expect(prepareRename(document, position)?.placeholder).toBe("tap");
    const result = rename(document, position, "middle");
    if ("refused" in result) throw new Error(result.refused);
    const text = applied(document.text, result.edits.get("main.ampnet") ?? []);
    expect(text).not.toContain("tap");
    expect(open(text).result.circuit.nets.map(({ name }) => name)).toContain("middle");
  });
  it("refuses to join two nets, a fixed name, a wrong name and a taken reference", () => {
    const { document, position } = marked(DIVIDER.replace("-- tap\n", "-- t|ap\n"));
    expect(rename(document, position, "HT")).toHaveProperty(
      "refused",
      expect.stringContaining("join the two nets"),
    );
    expect(rename(document, position, "gnd")).toHaveProperty(
      "refused",
      expect.stringContaining("fixed meaning"),
    );
    expect(rename(document, position, "9x")).toHaveProperty(
      "refused",
      expect.stringContaining("no net name"),
    );
    const part = marked(DIVIDER.replace("R1 100k", "R|1 100k"));
    expect(rename(part.document, part.position, "R2")).toHaveProperty(
      "refused",
      expect.stringContaining("another part"),
    );
  });
  it("does not offer gnd", () => {
    const { document, position } = marked(DIVIDER.replace("minus: gnd", "minus: g|nd"));
    expect(prepareRename(document, position)).toBeUndefined();
  });
});

describe("symbols, folds, selections, tokens, links", () => {
  const STAGED = `amp "Bench"\n\n# ── supply ──────\n${DIVIDER.split("\n").slice(1).join("\n")}\n# ── stage ──────\nvalve V1 ECC83 {\n  a { plate: tap, grid: g, cathode: k }\n}\ng -- resistor R3 1M -- gnd\nk -- resistor R4 1k5 -- gnd\n`;
  it("outlines stages with their parts, and nets", () => {
    const symbols = documentSymbols(open(STAGED));
    expect(symbols.map(({ name }) => name)).toEqual(["Bench", "supply", "stage", "nets"]);
    expect(symbols[2].children?.map(({ name }) => name)).toEqual(["V1", "R3", "R4"]);
  });
  it("finds parts and nets over files, by letters in order", () => {
    const found = workspaceSymbols([open(STAGED)], "v1", uriOf);
    expect(found.map(({ name }) => name)).toContain("V1");
    expect(workspaceSymbols([open(STAGED)], "zz", uriOf)).toEqual([]);
  });
  it("folds bodies and stages", () => {
    const folds = foldingRanges(open(STAGED));
    expect(folds.some(({ kind }) => kind === "region")).toBe(true);
    expect(folds.some(({ startLine, endLine }) => endLine === startLine + 1)).toBe(true);
  });
  it("grows a selection from word to file, each step holding the last", () => {
    const { document, position } = marked(STAGED.replace("grid: g,", "grid: |g,"));
    const sizes: number[] = [];
    for (let at = selectionRanges(document, [position])[0]; at; at = at.parent as typeof at) {
      const { start, end } = at.range;
      sizes.push((end.line - start.line) * 1000 + end.character - start.character);
      if (!at.parent) break;
    }
    expect(sizes.length).toBeGreaterThanOrEqual(4);
    expect(sizes).toEqual([...sizes].sort((one, other) => one - other));
  });
  it("gives tokens in order, none over another, all of known types", () => {
    const document = open(STAGED);
    const { data } = semanticTokens(document);
    expect(data.length % 5).toBe(0);
    expect(data.length).toBeGreaterThan(100);
    for (let at = 0; at < data.length; at += 5) {
      expect(data[at]).toBeGreaterThanOrEqual(0);
      if (data[at] === 0 && at > 0) expect(data[at + 1]).toBeGreaterThanOrEqual(data[at - 3]);
      expect(data[at + 3]).toBeLessThan(legend.tokenTypes.length);
    }
  });
  it("links includes and rules", () => {
    const links = documentLinks(open('include "x.ampnet"\nwaive rating/unrated because "y"\n'), {
      includeUri: (written) => `file:///${written}`,
      pageOf: (rule) => `page:${rule}`,
    });
    expect(links.map(({ target }) => target)).toEqual(["file:///x.ampnet", "page:rating/unrated"]);
  });
});

describe("completion", () => {
  const labels = (text: string) => {
    const { document, position } = marked(text);
    return completion(document, position).map(({ label }) => label);
  };
  it("offers statements, kinds and nets at a line's start", () => {
    const found = labels(`${DIVIDER}|\n`);
    expect(found).toEqual(expect.arrayContaining(["measured", "resistor", "valve", "tap"]));
  });
  it("offers parts behind a net and nets behind a part", () => {
    expect(labels(`${DIVIDER}tap -- |\n`)).toContain("capacitor");
    expect(labels(`${DIVIDER}tap -- |\n`)).not.toContain("valve");
    expect(labels(`${DIVIDER}tap -- resistor R3 1k -- |\n`)).toContain("HT");
  });
  it("offers the next free reference", () => {
    expect(labels(`${DIVIDER}tap -- resistor |\n`)).toEqual(["R3"]);
  });
  it("offers valve types with a summary, E values, standard ratings", () => {
    const { document, position } = marked(`${DIVIDER}valve V1 |\n`);
    const valve = completion(document, position).find(({ label }) => label === "EL84");
    expect(valve?.detail).toMatch(/pentode/i);
    expect(labels(`${DIVIDER}tap -- resistor R3 |\n`)).toEqual(expect.arrayContaining(["4k7", "2W"]));
    expect(labels(`${DIVIDER}tap -- capacitor C3 |\n`)).toEqual(expect.arrayContaining(["22n", "630V"]));
  });
  it("offers no second value or wattage where one stands", () => {
    const found = labels(`${DIVIDER}tap -- resistor R3 4k7 |\n`);
    expect(found).toEqual(expect.arrayContaining(["0.5W", "wirewound"]));
    expect(found.filter((label) => /^[\d.]+[RkM]/.test(label))).toEqual([]);
    expect(labels(`${DIVIDER}tap -- resistor R3 4k7 2W |\n`)).not.toContain("0.5W");
    expect(labels(`${DIVIDER}tap -- capacitor C3 22n |\n`)).toContain("630V");
    expect(labels(`${DIVIDER}tap -- capacitor C3 22n 630V |\n`)).not.toContain("400V");
  });
  it("offers a switch's duties, and an example of each fact that nothing is chosen from", () => {
    const found = labels(`${DIVIDER}tap -- switch S1 |\n`);
    expect(found).toEqual(expect.arrayContaining(["mains", "standby", "dpdt", "250V", "6A", "dc 400V"]));
    expect(labels(`${DIVIDER}tap -- switch S1 standby 600V |\n`)).not.toContain("250V");
    expect(labels(`${DIVIDER}tap -- switch S1 standby dc 600V |\n`)).not.toContain("dc 400V");
    expect(labels(`${DIVIDER}tap -- choke L1 |\n`)).toEqual(["10H", "100mA", "220R", "5%", "insulation 1kV"]);
    expect(labels(`${DIVIDER}tap -- choke L1 5H 80mA |\n`)).toEqual(["220R", "5%", "insulation 1kV"]);
    expect(labels(`${DIVIDER}tap -- fuse F1 T500mA |\n`)).toContain("250V");
  });
  it("offers the mains of each region whole, and the region alone behind its volts", () => {
    expect(labels("mains |\n")).toEqual(expect.arrayContaining(["230 V 50 Hz AU", "120 V 60 Hz US"]));
    expect(labels("mains 240 V 50 Hz |\n")).toEqual(expect.arrayContaining(["AU", "US"]));
  });
  it("offers windings at the start of a row, and no second name", () => {
    expect(labels("transformer T1 50VA {\n  |\n")).toContain("ht");
    expect(labels("transformer T1 50VA { |\n")).toContain("ht");
    expect(labels("transformer T1 50VA {\n  ht |\n")).toEqual([]);
  });
  it("offers the electrodes that are still free", () => {
    const found = labels("valve V1 EL84 { plate: p, |\n");
    expect(found).toContain("screen");
    expect(found).not.toContain("plate");
  });
  it("offers a bottle's sections, and in each its own electrodes, by name or letter", () => {
    expect(labels("valve V1 ECL82 { |\n")).toEqual(["triode", "pentode", "heater"]);
    expect(labels("valve V1 ECL82 { triode { plate: p, |\n")).toEqual(["grid", "cathode"]);
    expect(labels("valve V1 ECL82 { b { |\n")).toEqual(expect.arrayContaining(["screen", "plate"]));
    expect(labels("valve V1.pentode ECL82 { grid: g, |\n").sort()).toEqual([
      "cathode",
      "heater",
      "plate",
      "screen",
    ]);
    expect(labels("valve V1.a ECC83 { |\n").sort()).toEqual(["cathode", "grid", "heater", "plate"]);
    expect(labels("valve V1 ECC83 { |\n")).toEqual(["a", "b", "heater"]);
  });
  it("offers rules in a waiver, with their sentence on demand", () => {
    const { document, position } = marked("waive |\n");
    const items = completion(document, position);
    const item = items.find(({ label }) => label === "mains/fuse-first");
    expect(item).toBeDefined();
    if (item) expect(String(resolveCompletion(item).documentation)).toContain("fuse");
  });
  it("offers nothing in a comment", () => {
    expect(labels("# res|\n")).toEqual([]);
  });
});

describe("signature help", () => {
  it("names a kind's facts and steps on with each one written", () => {
    const { document, position } = marked("a -- resistor R1 100k | -- gnd\n");
    const help = signatureHelp(document, position);
    expect(help?.signatures[0].label).toContain("resistor R1");
    expect(help?.activeParameter).toBe(1);
  });
  it("keeps quiet elsewhere", () => {
    const { document, position } = marked("a |\n");
    expect(signatureHelp(document, position)).toBeUndefined();
  });
});

describe("code actions", () => {
  const act = (text: string, only: readonly string[] = []) => {
    const { document, position } = marked(text);
    const list = codeActions(document, { start: position, end: position }, { uriOf, diagnostics: [], only });
    return { document, list };
  };
  it("offer a checked fix that removes its finding", () => {
    const { document, list } = act(DIVIDER.replace("10u 63V", "10u 6|3V"));
    const fix = list.find(({ isPreferred }) => isPreferred);
    expect(fix).toBeDefined();
    const text = applied(document.text, fix?.edit?.changes?.["file:///bench/main.ampnet"] ?? []);
    const left = open(text).result.findings.filter(({ rule }) => rule === "rating/capacitor-voltage");
    expect(left).toEqual([]);
  });
  it("add a waiver that hides the finding once it has a reason", () => {
    const { document, list } = act(DIVIDER.replace("10u 63V", "10u 6|3V"));
    const waiver = list.find(({ title }) => title.startsWith("Waive rating/capacitor-voltage"));
    const text = applied(document.text, waiver?.edit?.changes?.["file:///bench/main.ampnet"] ?? []);
    const found = open(text).result.findings.find(({ rule }) => rule === "rating/capacitor-voltage");
    expect(found?.waived?.reason).toBe("say why");
  });
  it("make a block of statements, and the circuit keeps its volts", () => {
    const document = open(DIVIDER);
    const range = { start: { line: 2, character: 0 }, end: { line: 4, character: 0 } };
    const action = codeActions(document, range, { uriOf, diagnostics: [], only: ["refactor"] })[0];
    expect(action.title).toContain("block");
    const text = applied(document.text, action.edit?.changes?.["file:///bench/main.ampnet"] ?? []);
    const after = open(text).result;
    const tap = after.circuit.netByName.get("tap");
    expect(after.analysis.solution("idle", "nominal")?.volts[tap ?? -1]).toBeCloseTo(100, 6);
  });
});

describe("code lenses and summary", () => {
  it("tell what was found, checked and not checked, and never say safe", () => {
    const { result } = open(DIVIDER);
    const lens = codeLenses(open(DIVIDER))[0].command?.title ?? "";
    expect(lens).toBe(summary(result.findings, result.checked, result.unchecked));
    expect(lens).toMatch(/error.*limits checked.*could not be/);
    expect(lens).not.toMatch(/safe/i);
  });
});

describe("formatting", () => {
  it("changes only lines that differ, and nothing the second time", () => {
    const ragged = 'amp   "Bench"\nsource B1 300V   { plus: HT , minus: gnd }\n';
    const once = applied(ragged, formatDocument(ragged));
    expect(once).not.toBe(ragged);
    expect(formatDocument(once)).toEqual([]);
  });
  it("on typing touches the finished line alone", () => {
    const text = 'amp    "Bench"\nmains   230 V\n\n';
    const edits = formatOnType(text, { line: 2, character: 0 });
    expect(edits.every(({ range }) => range.start.line === 1)).toBe(true);
  });
});
