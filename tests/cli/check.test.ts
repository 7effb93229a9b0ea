import { chmodSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, it } from "vitest";
import { checkSchema } from "../../server/reports/schema.ts";
import { derate, folder } from "./host.ts";

/** A bench supply onto parts that are rated for it. */
const good = `amp "Bench"
source B1 300V { plus: HT, minus: gnd }
HT -- capacitor C1 100n 630V film -- gnd
HT -- resistor R1 1M 1W 500V metal-film -- gnd
`;
/** The same with a capacitor that isn't. */
const bad = good.replace("630V", "100V");
/** A reference used twice, and a net that nothing else is on: the file is wrong, the amplifier may not be. */
const broken = `${good}HT -- resistor\n`;

describe("derate check", () => {
  it("ends with 0 on a file without errors, tells what was checked, and gives the cautions", async () => {
    const { code, out, err } = await derate(folder({ "good.ampnet": good }), ["check", "good.ampnet"]);
    expect({ code, err }).toEqual({ code: 0, err: "" });
    expect(out).toMatch(/1 file: /);
    expect(out).toMatch(/[1-9]\d* limits checked, 0 breached; \d+ could not be checked\./);
    expect(out.replace(/\s+/g, " ")).toContain("never a proof of safety");
  });

  it("ends with 1 on an error, with the source line and a marker under the place", async () => {
    const { code, out } = await derate(folder({ "bad.ampnet": bad }), ["check", "bad.ampnet"]);
    expect(code).toBe(1);
    expect(out).toMatch(/^error: C1 sees 300 V/m);
    expect(out).toMatch(/bad\.ampnet:3:\d+ {2}rating\/capacitor-voltage/);
    const lines = out.split("\n");
    const source = lines.findIndex((line) => line.includes("3 │ HT -- capacitor C1 100n 100V film -- gnd"));
    expect(source).toBeGreaterThan(0);
    const marked = lines[source + 1].indexOf("^");
    const length = lines[source + 1].lastIndexOf("^") - marked + 1;
    expect(lines[source].slice(marked, marked + length)).toMatch(/C1|100V/);
  });

  it("keeps the findings of the other lines when one is unfinished", async () => {
    const { code, out } = await derate(folder({ "a.ampnet": broken.replace("630V", "100V") }), [
      "check",
      "a.ampnet",
    ]);
    expect(code).toBe(1);
    expect(out).toContain("C1 sees 300 V");
    expect(out).toMatch(/a\.ampnet:5:\d+ {2}circuit\//);
  });

  it("checks folders, and names each file by its way from the folder given", async () => {
    const cwd = folder({
      "amps/good.ampnet": good,
      "amps/old/bad.ampnet": bad,
      "amps/readme.md": "no netlist",
    });
    const { code, out } = await derate(cwd, ["check", "amps", "--format", "json"]);
    expect(code).toBe(1);
    const { files } = checkSchema.parse(JSON.parse(out));
    expect(files.map(({ path }) => path)).toEqual(["amps/good.ampnet", "amps/old/bad.ampnet"]);
    const breach = files[1].findings.find(({ rule }) => rule === "rating/capacitor-voltage");
    expect(breach).toMatchObject({ severity: "error", on: ["C1"], limit: 100, unit: "V", waived: null });
    expect(breach?.value).toBeCloseTo(300, 6);
    expect(breach?.range.start.line).toBe(2);
    expect(files[0].checked).toBeGreaterThan(0);
    expect(files[0].findings.filter(({ severity }) => severity === "error")).toEqual([]);
  });

  it("follows an include from the including file, and names the file that a finding stands in", async () => {
    const cwd = folder({ "amps/main.ampnet": `include "parts.ampnet"\n`, "amps/parts.ampnet": bad });
    const { code, out } = await derate(cwd, ["check", "amps/main.ampnet", "--format", "json"]);
    expect(code).toBe(1);
    const [file] = checkSchema.parse(JSON.parse(out)).files;
    expect(file.path).toBe("amps/main.ampnet");
    expect(file.findings.find(({ rule }) => rule === "rating/capacitor-voltage")).toMatchObject({
      file: "amps/parts.ampnet",
      text: "HT -- capacitor C1 100n 100V film -- gnd",
    });
  });

  it("honours a waiver through its last day, and lists it", async () => {
    const waived = `${bad}waive rating/capacitor-voltage on C1 because "630 V part on order" until 2026-06-01\n`;
    const cwd = folder({ "a.ampnet": waived });
    const held = await derate(cwd, ["check", "a.ampnet"]);
    expect(held.code).toBe(0);
    expect(held.out).toContain("630 V part on order");
    expect(held.out).toMatch(/1 waived/);
    expect((await derate(cwd, ["check", "a.ampnet", "--today", "2026-06-02"])).code).toBe(1);
  });

  it("a path that leads nowhere: status 2, and not one line of findings", async () => {
    const cwd = folder({ "bad.ampnet": bad });
    for (const format of ["text", "json"]) {
      const { code, out, err } = await derate(cwd, ["check", ".", "gone.ampnet", "--format", format]);
      expect({ code, out }).toEqual({ code: 2, out: "" });
      expect(err).toBe(
        "derate: gone.ampnet: no such file or folder; mind its spelling, and the folder that derate runs in\n",
      );
    }
  });

  it.skipIf(process.getuid?.() === 0)("says that it may not read a file", async () => {
    const cwd = folder({ "a.ampnet": good });
    chmodSync(join(cwd, "a.ampnet"), 0);
    const { code, err } = await derate(cwd, ["check", "a.ampnet"]);
    expect({ code, err }).toEqual({ code: 2, err: "derate: a.ampnet: permission denied\n" });
  });

  it("takes an empty file, and doesn't call it good", async () => {
    const { code, out } = await derate(folder({ "a.ampnet": "" }), ["check", "a.ampnet"]);
    expect(code).toBe(0);
    expect(out).toMatch(/[1-9]\d* could not be checked/);
    expect(out).toContain("What could not be checked is not good");
  });

  it("colours for a terminal, not for a pipe, not with NO_COLOR; the options go first", async () => {
    const cwd = folder({ "bad.ampnet": bad });
    const coloured = async (args: string[], host: Parameters<typeof derate>[2]) =>
      (await derate(cwd, ["check", "bad.ampnet", ...args], host)).out.includes("\u001b[");
    expect(await coloured([], { terminal: true })).toBe(true);
    expect(await coloured([], { terminal: false })).toBe(false);
    expect(await coloured([], { terminal: true, env: { NO_COLOR: "1" } })).toBe(false);
    expect(await coloured([], { terminal: true, env: { NO_COLOR: "" } })).toBe(true);
    expect(await coloured([], { terminal: true, env: { TERM: "dumb" } })).toBe(false);
    expect(await coloured(["--color"], { terminal: false, env: { NO_COLOR: "1" } })).toBe(true);
    expect(await coloured(["--no-color"], { terminal: true })).toBe(false);
  });
});
