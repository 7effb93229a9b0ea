import { describe, expect, it } from "vitest";
import { parse } from "../../grammar/parse.ts";
import { buildCircuit } from "../../server/circuit/build.ts";
import { includePath } from "../../server/circuit/include-path.ts";
import { circuitOf, partOf, tellings, wiring } from "./helpers.ts";

describe("includes", () => {
  it("bring in parts, with places in their own file", () => {
    const supply = "HT1 -- capacitor C1 32u 450V electrolytic -- gnd\n";
    const circuit = circuitOf('include "supply.ampnet"\nHT1 -- resistor R1 10k 1W -- HT2\n', {
      "supply.ampnet": supply,
    });
    expect(circuit.problems).toEqual([]);
    expect(circuit.parts.map((part) => part.reference)).toEqual(["C1", "R1"]);
    expect(partOf(circuit, "capacitor", "C1").place.file).toBe("supply.ampnet");
    expect(wiring(circuit, "C1").plus).toBe("HT1");
    expect(circuit.files).toEqual(["amp.ampnet", "supply.ampnet"]);
    const { range } = partOf(circuit, "capacitor", "C1").referencePlace;
    expect(supply.slice(range.start, range.end)).toBe("C1");
  });

  it("give blocks, and use those of others", () => {
    const circuit = circuitOf('include "blocks.ampnet"\nuse load(a) as N\ninclude "more.ampnet"\n', {
      "blocks.ampnet": "block load(x) { x -- resistor R1 1k -- gnd }\n",
      "more.ampnet": "use load(b) as M\n",
    });
    expect(circuit.problems).toEqual([]);
    expect(circuit.partByReference.get("N.R1")?.place.file).toBe("blocks.ampnet");
    expect(circuit.partByReference.has("M.R1")).toBe(true);
  });

  it("are looked for from the file that includes, inside the main file's folder", () => {
    const files = {
      "amps/stages/gain.ampnet": 'include "../shared/load.ampnet"\n',
      "amps/shared/load.ampnet": "a -- resistor R1 1k -- gnd\n",
    };
    const circuit = circuitOf('include "stages/gain.ampnet"\n', files, "amps/magpie.ampnet");
    expect(circuit.problems).toEqual([]);
    expect(circuit.partByReference.has("R1")).toBe(true);
    expect(circuit.files).toEqual([
      "amps/magpie.ampnet",
      "amps/stages/gain.ampnet",
      "amps/shared/load.ampnet",
    ]);
  });

  it("keep the sources, whose own problems stay with their trees", () => {
    const text = 'include "b.ampnet"\n';
    const { sources, circuit } = buildCircuit(
      "a.ampnet",
      text,
      parse(text),
      () => "resistor\nx -- resistor R1 1k -- y\n",
    );
    expect([...sources.keys()]).toEqual(["a.ampnet", "b.ampnet"]);
    expect(sources.get("b.ampnet")!.tree.problems.length).toBeGreaterThan(0);
    expect(circuit.partByReference.has("R1")).toBe(true);
  });

  it("read a name of two files only once", () => {
    const circuit = circuitOf('include "b.ampnet"\ninclude "b.ampnet"\n', {
      "b.ampnet": "x -- resistor R1 1k -- y\n",
    });
    expect(circuit.parts).toHaveLength(1);
    expect(circuit.problems.map((problem) => [problem.rule, problem.related?.length])).toEqual([
      ["circuit/include", 1],
    ]);
  });

  it.each([
    ["a file that is not there", 'include "none.ampnet"\n', {}],
    ["a file that includes itself", 'include "amp.ampnet"\n', {}],
    [
      "two that include each other",
      'include "b.ampnet"\n',
      { "b.ampnet": 'include "c.ampnet"\n', "c.ampnet": 'include "b.ampnet"\n' },
    ],
    ["one that includes the main file", 'include "b.ampnet"\n', { "b.ampnet": 'include "amp.ampnet"\n' }],
    ["a way out of the folder", 'include "../b.ampnet"\n', { "../b.ampnet": "" }],
    ["a way out and back in", 'include "x/../../b.ampnet"\n', {}],
    ["an absolute name", 'include "/etc/b.ampnet"\n', {}],
    ["another drive", 'include "C:/b.ampnet"\n', {}],
    ["another host", 'include "https://example.org/b.ampnet"\n', {}],
    [
      "one inside a block",
      'block b(x) {\ninclude "c.ampnet"\nx -- resistor R1 1k -- gnd\n}\n',
      { "c.ampnet": "" },
    ],
    ["an empty name", 'include ""\n', {}],
  ])("tell %s", (_, text, files) => {
    expect(circuitOf(text, files as Record<string, string>).problems.map((problem) => problem.rule)).toEqual([
      "circuit/include",
    ]);
  });

  it("go on with the rest of the file", () => {
    expect(circuitOf('include "none.ampnet"\na -- resistor R1 1k -- b\n').parts).toHaveLength(1);
  });

  it("say so where nothing can be read at all", () => {
    const text = 'include "b.ampnet"\n';
    expect(buildCircuit("a.ampnet", text, parse(text)).circuit.problems[0].message).toMatch(/cannot be read/);
  });

  it("count the first of two mains lines, and tell the other", () => {
    const text = 'mains 240 V 50 Hz AU\ninclude "b.ampnet"\n';
    const circuit = circuitOf(text, { "b.ampnet": "mains 120 V 60 Hz US\n" });
    expect(circuit.mains.volts.nominal).toBe(240);
    expect(circuit.problems.map((problem) => [problem.rule, problem.place.file])).toEqual([
      ["circuit/duplicate-reference", "b.ampnet"],
    ]);
    expect(tellings("mains 240 V\nmains 230 V\n")).toEqual(["circuit/duplicate-reference: mains 230 V"]);
  });
});

describe("the key of an included file", () => {
  it.each([
    ["amp.ampnet", "amp.ampnet", "b.ampnet", "b.ampnet"],
    ["x/amp.ampnet", "x/amp.ampnet", "./b.ampnet", "x/b.ampnet"],
    ["x/amp.ampnet", "x/y/c.ampnet", "../b.ampnet", "x/b.ampnet"],
    ["/home/me/amp.ampnet", "/home/me/amp.ampnet", "s/b.ampnet", "/home/me/s/b.ampnet"],
    ["./amp.ampnet", "./amp.ampnet", "b.ampnet", "./b.ampnet"],
    ["C:\\amps\\a.ampnet", "C:\\amps\\a.ampnet", "s/b.ampnet", "C:\\amps\\s\\b.ampnet"],
    [
      "file:///home/me/a.ampnet",
      "file:///home/me/a.ampnet",
      "my stage.ampnet",
      "file:///home/me/my%20stage.ampnet",
    ],
    ["file:///c%3A/me/a.ampnet", "file:///c%3A/me/s/a.ampnet", "../b.ampnet", "file:///c%3A/me/b.ampnet"],
    [
      "vscode-vfs://host/r/a.ampnet",
      "vscode-vfs://host/r/a.ampnet",
      "b.ampnet",
      "vscode-vfs://host/r/b.ampnet",
    ],
    ["untitled:Untitled-1", "untitled:Untitled-1", "b.ampnet", "untitled:b.ampnet"],
    ["amp.ampnet", "amp.ampnet", "s\\b.ampnet", "s/b.ampnet"],
  ])("%s, from %s: %s is %s", (main, from, written, file) => {
    expect(includePath(main, from, written)).toEqual({ file });
  });
  it.each([
    ["x/amp.ampnet", "x/amp.ampnet", "../b.ampnet", "outside"],
    ["x/amp.ampnet", "x/y/c.ampnet", "../../x/b.ampnet", "outside"],
    ["file:///home/me/a.ampnet", "file:///home/me/a.ampnet", "../b.ampnet", "outside"],
    ["/a.ampnet", "/a.ampnet", "../../b.ampnet", "outside"],
    ["amp.ampnet", "amp.ampnet", "..", "outside"],
    ["amp.ampnet", "amp.ampnet", "/b.ampnet", "absolute"],
    ["amp.ampnet", "amp.ampnet", "\\\\host\\b.ampnet", "absolute"],
    ["amp.ampnet", "amp.ampnet", "  ", "empty"],
  ])("%s, from %s: %s is %s", (main, from, written, wrong) => {
    expect(includePath(main, from, written)).toEqual({ wrong });
  });
});
