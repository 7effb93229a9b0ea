/** An output takes nothing away: no netlist, no configuration, no other output. */
import { existsSync, readFileSync, symlinkSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, it } from "vitest";
import { derate, folder } from "./host.ts";

const netlist = `amp "Bench"
source B1 300V { plus: HT, minus: gnd }
HT -- resistor R1 1M 1W 500V metal-film -- gnd
`;

const bench = () => {
  const cwd = folder({
    "a.ampnet": netlist,
    "notes.txt": netlist,
    "stage.ampnet": "",
    "derate.config.json": "{}",
    "known.json": '{ "version": 1, "findings": {} }',
    "amps/readme.md": "",
  });
  symlinkSync(join(cwd, "notes.txt"), join(cwd, "report.txt"));
  symlinkSync(join(cwd, "amps"), join(cwd, "linked"));
  return cwd;
};

describe("where an output goes", () => {
  it.each([
    [
      "a netlist that is checked",
      ["check", "notes.txt", "--output", "notes.txt"],
      /one of the files that are read/,
    ],
    [
      "the same by a link",
      ["check", "notes.txt", "--output", "report.txt"],
      /one of the files that are read/,
    ],
    ["any netlist", ["check", "notes.txt", "--output", "text:stage.ampnet"], /a netlist's name/],
    ["a configuration", ["check", ".", "--output", "derate.config.json"], /one of the files that are read/],
    [
      "the baseline",
      ["check", ".", "--baseline", "known.json", "--output", "known.json"],
      /one of the files that are read/,
    ],
    ["twice", ["check", ".", "--output", "x.json", "--output", "csv:./x.json"], /two outputs go there/],
    [
      "twice, once by a link of a folder",
      ["check", ".", "--output", "amps/x.json", "--output", "linked/x.json"],
      /two outputs go there/,
    ],
    ["a baseline onto a netlist", ["baseline", "write", ".", "--baseline", "a.ampnet"], /a netlist's name/],
    [
      "a baseline onto a configuration",
      ["baseline", "write", ".", "--baseline", "derate.config.json"],
      /one of the files that are read/,
    ],
    [
      "a baseline onto what is checked",
      ["baseline", "write", "notes.txt", "--baseline", "notes.txt"],
      /one of the files that are read/,
    ],
  ])("is never %s: status 2, and nothing written", async (_, args, message) => {
    const cwd = bench();
    const ran = await derate(cwd, args);
    expect(ran).toMatchObject({ code: 2, out: "" });
    expect(ran.err).toMatch(message);
    for (const name of ["a.ampnet", "notes.txt"]) expect(readFileSync(join(cwd, name), "utf8")).toBe(netlist);
    expect(readFileSync(join(cwd, "stage.ampnet"), "utf8")).toBe("");
    expect(readFileSync(join(cwd, "derate.config.json"), "utf8")).toBe("{}");
    for (const name of ["x.json", "amps/x.json"]) expect(existsSync(join(cwd, name))).toBe(false);
  });

  it("may be the same name in different folders, or an old report", async () => {
    const cwd = bench();
    const args = ["check", "a.ampnet", "--output", "x.json", "--output", "amps/x.json"];
    expect((await derate(cwd, args)).code).toBe(0);
    expect((await derate(cwd, args)).code).toBe(0);
    expect(JSON.parse(readFileSync(join(cwd, "amps/x.json"), "utf8")).files).toHaveLength(1);
  });
});
