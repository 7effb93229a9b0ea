/** One netlist of a folder that can't be read costs itself alone. */
import { existsSync, readFileSync, rmSync, symlinkSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, it } from "vitest";
import { writers } from "../../server/reports/formats/index.ts";
import { checkSchema } from "../../server/reports/schema.ts";
import { derate, folder } from "./host.ts";

const good = `amp "Bench"
source B1 300V { plus: HT, minus: gnd }
HT -- capacitor C1 100n 630V film -- gnd
HT -- resistor R1 1M 1W 500V metal-film -- gnd
`;
const bad = good.replace("630V", "100V");
const latin = new Uint8Array([...Buffer.from(good), 0xb5]);

const mixed = () => {
  const cwd = folder({ "a.ampnet": bad, "b.ampnet": latin, "c.ampnet": good, "sub/d.ampnet": bad });
  symlinkSync(join(cwd, "nowhere"), join(cwd, "sub/e.ampnet"));
  return cwd;
};
const files = async (cwd: string, args: readonly string[]) => {
  const ran = await derate(cwd, ["check", ...args, "--format", "json"]);
  return { ...ran, files: checkSchema.parse(JSON.parse(ran.out)).files };
};

describe("a netlist that can't be read", () => {
  it("is told at its place, the others in full as without it, and the status says so", async () => {
    const cwd = mixed();
    const ran = await files(cwd, ["."]);
    expect(ran.code).toBe(2);
    expect(ran.err.split("\n").filter(Boolean)).toEqual([
      expect.stringMatching(/^derate: b\.ampnet: not a text file in UTF-8; save it as UTF-8/),
      expect.stringMatching(/^derate: sub\/e\.ampnet: no such file or folder/),
    ]);
    expect(ran.files.map(({ path }) => path)).toEqual([
      "a.ampnet",
      "b.ampnet",
      "c.ampnet",
      "sub/d.ampnet",
      "sub/e.ampnet",
    ]);
    for (const index of [1, 4])
      expect(ran.files[index].findings).toMatchObject([
        {
          rule: "circuit/syntax",
          severity: "error",
          message: expect.stringMatching(/nothing in it has been checked/),
        },
      ]);
    rmSync(join(cwd, "b.ampnet"));
    rmSync(join(cwd, "sub/e.ampnet"));
    const without = await files(cwd, ["."]);
    expect(without).toMatchObject({ code: 1, err: "" });
    expect([0, 2, 3].map((index) => ran.files[index])).toEqual(without.files);
  });

  it.each(Object.keys(writers))("stands in %s, beside the others", async (format) => {
    const { code, out } = await derate(mixed(), ["check", ".", "--format", format]);
    expect(code).toBe(2);
    expect(out).toMatch(/could not be read, and nothing in it has been checked: not a text file in UTF-8/);
    expect(out).toMatch(/C1 sees 300 V|capacitor-voltage/);
  });

  it("outranks what the others come to, whatever is let pass", async () => {
    const cwd = folder({ "a.ampnet": good, "b.ampnet": latin });
    for (const args of [
      [],
      ["--summary"],
      ["--fix"],
      ["--fix-dry-run"],
      ["--max-warnings", "0"],
      ["--rule", "circuit=off"],
      ["--cache"],
      // The second time the other one comes from the cache.
      ["--cache"],
    ])
      expect(await derate(cwd, ["check", ".", ...args]), args.join()).toMatchObject({
        code: 2,
        err: expect.stringMatching(/^derate: b\.ampnet: not a text file/),
      });
    rmSync(join(cwd, "b.ampnet"));
    expect((await derate(cwd, ["check", "."])).code).toBe(0);
  });

  it("may be standard input, which costs no file its findings", async () => {
    const cwd = folder({ "a.ampnet": bad });
    for (const args of [[], ["--cache"]]) {
      const ran = await derate(cwd, ["check", "a.ampnet", "-", "--format", "json", ...args], {
        readInput: async () => latin,
      });
      expect(ran).toMatchObject({
        code: 2,
        err: expect.stringMatching(/^derate: standard input: not a text/),
      });
      const [a, input] = checkSchema.parse(JSON.parse(ran.out)).files;
      expect(a.findings.map(({ rule }) => rule)).toContain("rating/capacitor-voltage");
      expect(input).toMatchObject({ path: "standard-input.ampnet", unread: true });
    }
  });

  it("is named by compare, both where neither can be read", async () => {
    const cwd = folder({ "a.ampnet": latin, "b.ampnet": latin, "c.ampnet": good });
    const ran = await derate(cwd, ["compare", "a.ampnet", "b.ampnet"]);
    expect(ran).toMatchObject({ code: 2, out: "" });
    expect(ran.err).toMatch(/^derate: a\.ampnet: not a text.*\nderate: b\.ampnet: not a text.*\n/);
    expect((await derate(cwd, ["compare", "a.ampnet", "c.ampnet"])).err).toMatch(
      /^derate: a\.ampnet: not a text.*\nderate: nothing has been compared\n$/,
    );
    expect((await derate(cwd, ["volts", "a.ampnet"])).err).toMatch(/^derate: a\.ampnet: not a text/);
  });

  it("may vanish or come to be one while the others are checked", async () => {
    const cwd = folder({ "a.ampnet": bad, "b.ampnet": good, "c.ampnet": good });
    // Standard input is read when all files have been found and none has been checked.
    let asked = false;
    const ran = await derate(cwd, ["check", ".", "-", "--format", "json"], {
      readInput: async () => {
        asked = true;
        rmSync(join(cwd, "b.ampnet"));
        writeFileSync(join(cwd, "c.ampnet"), latin);
        return new TextEncoder().encode(good);
      },
    });
    expect(asked).toBe(true);
    expect(ran.code).toBe(2);
    expect(ran.err).toMatch(/b\.ampnet: no such file.*\nderate: c\.ampnet: not a text/);
    expect(checkSchema.parse(JSON.parse(ran.out)).files.map(({ unread }) => unread === true)).toEqual([
      false,
      true,
      true,
      false,
    ]);
  });

  it("is put into no baseline, and a baseline misses nothing for it", async () => {
    const cwd = folder({ "a.ampnet": bad });
    expect((await derate(cwd, ["baseline", "write", "."])).code).toBe(0);
    const kept = readFileSync(join(cwd, "derate-baseline.json"), "utf8");
    writeFileSync(join(cwd, "a.ampnet"), latin);
    const ran = await derate(cwd, ["check", ".", "--baseline", "derate-baseline.json"]);
    expect(ran.code).toBe(2);
    expect(ran.err).not.toMatch(/gone|no longer/);
    expect((await derate(cwd, ["baseline", "write", "."])).code).toBe(2);
    expect(existsSync(join(cwd, "derate-baseline.json"))).toBe(true);
    expect(readFileSync(join(cwd, "derate-baseline.json"), "utf8")).toBe(kept);
  });
});
