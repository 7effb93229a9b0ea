/** What a shop needs that checks a collection in its CI. */
import { execFileSync } from "node:child_process";
import { existsSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, it } from "vitest";
import { checkSchema } from "../../server/reports/schema.ts";
import { tallyOf } from "../../server/reports/summary.ts";
import { derate, folder } from "./host.ts";

/** A capacitor on a bench supply: 300 V on a part of so many volts. */
const bench = (volts: number, rest = "") =>
  `amp "Bench"\nsource B1 300V { plus: HT, minus: gnd }\nHT -- capacitor C1 100n ${volts}V film -- gnd\nHT -- resistor R1 1M 1W 500V metal-film -- gnd\n${rest}`;
const good = bench(630);
const bad = bench(100);

const json = async (cwd: string, args: readonly string[], host = {}) => {
  const ran = await derate(cwd, ["check", ...args, "--format", "json"], host);
  return { ...ran, files: ran.out === "" ? [] : checkSchema.parse(JSON.parse(ran.out)).files };
};
const errors = (file: { findings: readonly { severity: string; rule: string }[] }) =>
  file.findings.filter(({ severity }) => severity === "error").map(({ rule }) => rule);

describe("standard input", () => {
  it("is checked under the name given, with the configuration of that name", async () => {
    const cwd = folder({
      "amps/derate.config.json": '{ "severity": { "rating/capacitor-voltage": "warning" } }',
    });
    const input = { readInput: async () => new TextEncoder().encode(bad) };
    const plain = await json(cwd, ["-"], input);
    expect(plain.code).toBe(1);
    expect(errors(plain.files[0])).toEqual(["rating/capacitor-voltage"]);
    const named = await json(cwd, ["-", "--as", "amps/new.ampnet"], input);
    expect(named.code).toBe(0);
    expect(named.files[0].path).toBe("amps/new.ampnet");
  });

  it("needs a path to be named by, and text", async () => {
    const cwd = folder({ "a.ampnet": good });
    expect((await derate(cwd, ["check", "a.ampnet", "--as", "b.ampnet"])).err).toMatch(
      /give "-" as a path too/,
    );
    const binary = await derate(cwd, ["check", "-"], { readInput: async () => new Uint8Array([0xff]) });
    expect(binary.code).toBe(2);
    expect(binary.out).toMatch(/^error: This file could not be read, [^:]*: not a text file in\s+UTF-8/);
    expect(binary.err).toMatch(/standard input: not a text file in UTF-8/);
  });
});

describe("configuration", () => {
  it("sets severities; a mistake in it ends with 2 and its place, and nothing is checked", async () => {
    const cwd = folder({
      "derate.config.json": '{ "severity": { "rating": "advice" } }',
      "a.ampnet": bad,
      "wrong/derate.config.json": '{\n  "severty": {}\n}',
      "wrong/b.ampnet": bad,
    });
    const ran = await json(cwd, ["a.ampnet"]);
    expect(ran.code).toBe(0);
    expect(ran.files[0].findings.find(({ rule }) => rule === "rating/capacitor-voltage")?.severity).toBe(
      "advice",
    );
    expect(await derate(cwd, ["check", "."])).toEqual({
      code: 2,
      out: "",
      err: 'derate: wrong/derate.config.json:2:3: no setting is called "severty"; meant: "severity"?\n',
    });
    expect((await derate(cwd, ["check", ".", "--no-config"])).code).toBe(1);
    expect((await derate(cwd, ["check", "a.ampnet", "--config", "gone.json"])).err).toMatch(
      /gone\.json:1:1: no such file/,
    );
  });

  it("that is there and can't be read is told, as its settings are unknown; a mark of UTF-8 before it is none", async () => {
    const severity = '{ "severity": { "rating": "advice" } }';
    const cwd = folder({
      "derate.config.json": severity,
      "a.ampnet": bad,
      "folder/derate.config.json/any": "",
      "folder/b.ampnet": bad,
      "other/derate.config.json": new Uint8Array([0xff, 0xfe, 0x7b, 0]),
      "other/c.ampnet": bad,
      "valves/derate.config.json": '{ "valves": ["types"] }',
      "valves/types/any": "",
      "valves/d.ampnet": bad,
      "marked/derate.config.json": `\ufeff${severity}`,
      "marked/e.ampnet": bad,
    });
    const told = async (path: string) => (await derate(cwd, ["check", path])).err;
    expect(await told("folder/b.ampnet")).toBe(
      "derate: folder/derate.config.json:1:1: it can't be read: is a folder\n",
    );
    expect(await told("other/c.ampnet")).toBe(
      "derate: other/derate.config.json:1:1: it can't be read: not a text file in UTF-8; save it as UTF-8\n",
    );
    expect(await told("valves/d.ampnet")).toBe(
      "derate: valves/derate.config.json:1:14: types: this file of valve types can't be read: is a folder\n",
    );
    expect((await json(cwd, ["marked/e.ampnet"])).code).toBe(0);
  });

  it("gives the ambient to files that say none", async () => {
    // 0.7 W of 1 W: right at room temperature, past the derated rating in an oven.
    const warm =
      'amp "A"\nsource B1 265V { plus: HT, minus: gnd }\nHT -- resistor R1 100k 1W 500V metal-film -- gnd\n';
    const cwd = folder({
      "a.ampnet": warm,
      "hot.json": '{ "ambient": 120 }',
      "cool.json": '{ "ambient": 20 }',
    });
    const found = async (config: string) =>
      (await json(cwd, ["a.ampnet", "--config", config])).files[0].findings.filter(
        ({ rule, severity }) => rule === "rating/resistor-power" && severity === "error",
      ).length;
    expect(await found("cool.json")).toBe(0);
    expect(await found("hot.json")).toBe(1);
  });

  it("is printed with where it comes from", async () => {
    const cwd = folder({
      "base.json": '{ "region": "NZ" }',
      "derate.config.json": '{ "extends": "base.json", "ambient": 45 }',
    });
    const { code, out } = await derate(cwd, ["config", "a.ampnet"]);
    expect(code).toBe(0);
    expect(JSON.parse(out)).toMatchObject({
      read: ["base.json", "derate.config.json"],
      settings: { region: "NZ", ambient: 45 },
    });
    expect(JSON.parse((await derate(cwd, ["config", "--schema"])).out).properties).toHaveProperty("severity");
  });

  it("goes behind --rule", async () => {
    const cwd = folder({ "derate.config.json": '{ "severity": { "rating": "advice" } }', "a.ampnet": bad });
    expect((await json(cwd, ["a.ampnet", "--rule", "rating/capacitor-voltage=error"])).code).toBe(1);
    expect(
      (await json(cwd, ["a.ampnet", "--no-config", "--rule", "rating/capacitor-voltage=off"])).code,
    ).toBe(0);
    expect((await derate(cwd, ["check", "a.ampnet", "--rule", "rating"])).err).toMatch(
      /write a rule or family/,
    );
  });

  it("leaves files out of a search", async () => {
    const cwd = folder({
      "derate.config.json": '{ "ignore": ["old/"] }',
      "a.ampnet": good,
      "old/b.ampnet": bad,
    });
    expect((await json(cwd, ["."])).files.map(({ path }) => path)).toEqual(["a.ampnet"]);
    expect((await json(cwd, [".", "--no-ignore"])).files).toHaveLength(2);
    expect((await json(cwd, ["old/b.ampnet"])).files).toHaveLength(1);
  });
});

describe("outputs", () => {
  it("are written beside what is shown, one for each format, whole", async () => {
    const cwd = folder({ "a.ampnet": bad, "made/.keep": "" });
    const args = ["a.sarif", "junit:made/tests.xml", "margins.csv", "b.md", "c.json", "gitlab:quality.json"];
    const { code, out } = await derate(cwd, [
      "check",
      "a.ampnet",
      ...args.flatMap((arg) => ["--output", arg]),
    ]);
    expect(code).toBe(1);
    expect(out).toContain("error: C1 sees 300 V");
    const read = (name: string) => readFileSync(join(cwd, name), "utf8");
    expect(JSON.parse(read("a.sarif")).version).toBe("2.1.0");
    expect(read("made/tests.xml")).toContain("<testsuites");
    expect(read("margins.csv")).toMatch(/^file,on,rule,.*\r\na\.ampnet,/);
    expect(read("b.md")).toContain("## Derate");
    expect(checkSchema.parse(JSON.parse(read("c.json"))).files).toHaveLength(1);
    expect(JSON.parse(read("quality.json"))).toContainEqual(
      expect.objectContaining({ check_name: "rating/capacitor-voltage" }),
    );
    expect(readdirSync(cwd).filter((name) => name.startsWith("."))).toEqual([]);
  });

  it("that can't be written end with 2, and leave what was there", async () => {
    const cwd = folder({ "a.ampnet": good });
    const ran = await derate(cwd, [
      "check",
      "a.ampnet",
      "--output",
      "no/such/a.sarif",
      "--output",
      "b.sarif",
    ]);
    expect(ran).toMatchObject({ code: 2, out: "" });
    expect(ran.err).toBe(
      "derate: no/such/a.sarif: not written: no such file or folder; make its folder first\n",
    );
    expect(existsSync(join(cwd, "b.sarif"))).toBe(true);
    expect((await derate(cwd, ["check", "a.ampnet", "--output", "a.pdf"])).err).toMatch(
      /no format has this ending/,
    );
  });
});

describe("policy", () => {
  it("fails from the severity that it is told", async () => {
    const cwd = folder({
      "a.ampnet": bad,
      "derate.config.json": '{ "severity": { "rating/capacitor-voltage": "warning" } }',
    });
    const code = async (...args: string[]) => (await derate(cwd, ["check", "a.ampnet", ...args])).code;
    expect(await code()).toBe(0);
    expect(await code("--fail-on", "warning")).toBe(1);
    expect(await code("--fail-on", "unchecked")).toBe(1);
    expect(await code("--max-warnings", "1")).toBe(0);
    expect(await code("--max-warnings", "0")).toBe(1);
    expect(await code("--max-warnings", "few")).toBe(2);
  });
});

describe("baseline", () => {
  it("lets known findings pass, new ones not, tells those that are gone, and survives moved lines", async () => {
    const cwd = folder({ "a.ampnet": bad, "b.ampnet": bad });
    const write = await derate(cwd, ["baseline", "write", "."]);
    expect(write).toMatchObject({ code: 0, out: "derate-baseline.json: 2 findings of 2 files put by.\n" });
    const checked = await derate(cwd, ["baseline", "check", "."]);
    expect(checked).toMatchObject({ code: 0, err: "" });
    expect(checked.out).toContain("2 known from the baseline");
    expect(checked.out).not.toContain("C1 sees");

    writeFileSync(join(cwd, "a.ampnet"), `# a line more\n\n${bad}HT -- capacitor C2 1u 100V film -- gnd\n`);
    const more = await derate(cwd, ["check", ".", "--baseline", "derate-baseline.json"]);
    expect(more.code).toBe(1);
    expect(more.out).toContain("C2 sees");
    expect(more.out).not.toContain("C1 sees");

    writeFileSync(join(cwd, "a.ampnet"), good);
    const fewer = await derate(cwd, ["baseline", "check", "."]);
    expect(fewer.code).toBe(0);
    expect(fewer.err).toContain(
      '1 finding of derate-baseline.json is no more; "derate baseline write" takes them out:\n  a.ampnet  rating/capacitor-voltage  C1',
    );
  });

  it("never puts an error of mains or earth by", async () => {
    const live =
      'amp "A"\nmains 230 V 50 Hz AU\ncord W1 1.0mm2 10A anchored { active: a, neutral: n, earth: chassis }\ntransformer T1 30VA { primary 230V 20R { a n } }\n';
    const cwd = folder({ "a.ampnet": live });
    const { out } = await derate(cwd, ["baseline", "write", "a.ampnet"]);
    expect(out).toMatch(/errors? of mains and earth not put by: what can kill stays in sight/);
    const baseline = readFileSync(join(cwd, "derate-baseline.json"), "utf8");
    const { findings } = JSON.parse(baseline);
    for (const rule of Object.keys(findings["a.ampnet"] ?? {})) {
      if (/^(mains|earth)\//.test(rule)) expect(rule).not.toBe("mains/fuse-first");
    }
    expect((await derate(cwd, ["baseline", "check", "a.ampnet"])).code).toBe(1);
  });

  it("that is missing or isn't one ends with 2", async () => {
    const cwd = folder({
      "a.ampnet": bad,
      "other.json": '{ "version": 1, "findings": { "a": 3 } }',
      "torn.json": '{ "ver',
    });
    const err = async (file: string) => (await derate(cwd, ["check", "a.ampnet", "--baseline", file])).err;
    expect(await err("gone.json")).toMatch(/no such file or folder; "derate baseline write" makes one/);
    expect(await err("other.json")).toMatch(/not a baseline/);
    expect(await err("torn.json")).toMatch(/not JSON/);
  });
});

describe("cache", () => {
  it("gives the same as checking, also when an included file, the day or the options change", async () => {
    const cwd = folder({
      "a.ampnet": 'include "part.ampnet"\n',
      "part.ampnet": bad,
      "w.ampnet": `${bad}waive rating/capacitor-voltage on C1 because "on order" until 2026-06-01\n`,
    });
    // One program and one cache: from its sources every run counts as another program, so the runs share one here.
    const { ResultCache } = await import("../../server/cli/cache.ts");
    const { checkAll } = await import("../../server/cli/checking.ts");
    const { collect } = await import("../../server/cli/collect.ts");
    const run = async (options: { today?: string; rule?: string[] }, cached: boolean) => {
      const host = {
        cwd,
        env: {},
        terminal: false,
        today: "2026-06-01",
        out() {},
        err() {},
        readInput: async () => new Uint8Array(),
      };
      const { jobs } = await collect(["a.ampnet", "w.ampnet"], options, host, {});
      let found = 0;
      const cache = cached ? new ResultCache("cache", host, "this program") : undefined;
      const counted = cache && {
        has: cache.has.bind(cache),
        find: (job: (typeof jobs)[number]) => {
          const report = cache.find(job);
          if (report) found++;
          return report;
        },
        keep: cache.keep.bind(cache),
      };
      const reports: unknown[] = [];
      await checkAll(
        jobs,
        host,
        { cache: counted as unknown as InstanceType<typeof ResultCache> },
        ({ tally, report }) => {
          expect(tally).toEqual(tallyOf(report()));
          reports.push(report());
        },
      );
      return { reports: JSON.parse(JSON.stringify(reports)), found };
    };
    const same = async (options: { today?: string; rule?: string[] }, found: number) => {
      const cached = await run(options, true);
      expect(cached.reports).toEqual((await run(options, false)).reports);
      expect(cached.found).toBe(found);
    };
    await same({}, 0);
    await same({}, 2);
    await same({ today: "2026-06-02" }, 1);
    await same({ rule: ["rating=off"] }, 0);
    writeFileSync(join(cwd, "part.ampnet"), good);
    await same({ today: "2026-06-02" }, 1);
    rmSync(join(cwd, "part.ampnet"));
    await same({ today: "2026-06-02" }, 1);
    // A torn entry counts as none.
    for (const name of readdirSync(join(cwd, "cache"), { recursive: true, encoding: "utf8" }))
      if (name.endsWith(".json")) writeFileSync(join(cwd, "cache", name), '{ "report"');
    await same({ today: "2026-06-02" }, 0);
    await same({ today: "2026-06-02" }, 2);
    for (const name of readdirSync(join(cwd, "cache"), { recursive: true, encoding: "utf8" }))
      if (name.endsWith(".json"))
        writeFileSync(join(cwd, "cache", name), readFileSync(join(cwd, "cache", name), "utf8").slice(0, -1));
    await same({ today: "2026-06-02" }, 0);
  });

  it("keeps what was fitted to own valves, by the text of their file", async () => {
    const cwd = folder({});
    const { ResultCache } = await import("../../server/cli/cache.ts");
    const { fits } = new ResultCache("cache", { cwd }, "this program");
    const laws = { X: { triode: { mu: 20 } } } as unknown as NonNullable<ReturnType<typeof fits.find>>;
    expect(fits.find("text")).toBeUndefined();
    fits.keep("text", laws);
    expect(fits.find("text")).toEqual(laws);
    expect(fits.find("other text")).toBeUndefined();
    expect(new ResultCache("cache", { cwd }, "this program").fits.find("text")).toEqual(laws);
    expect(new ResultCache("cache", { cwd }, "another").fits.find("text")).toBeUndefined();
  });

  it("whose folder can't be made is a wrong option", async () => {
    const cwd = folder({ "a.ampnet": good, file: "" });
    const ran = await derate(cwd, ["check", "a.ampnet", "--cache", "file/cache"]);
    expect(ran).toMatchObject({ code: 2, out: "" });
    expect(ran.err).toMatch(/this folder could not be made/);
  });
});

describe("fixes", () => {
  const slip =
    'amp "A"\nsource B1 300V { plus: HT1, minus: gnd }\nHT1 -- resistor R1 1M 1W 500V metal-film -- gnd\nHT1 -- capacitor C1 100n 100V film -- gnd\n';

  it("of the design are made only when asked for by name, and told with a warning", async () => {
    const cwd = folder({ "a.ampnet": slip });
    expect((await derate(cwd, ["check", "a.ampnet", "--fix"])).code).toBe(1);
    expect(readFileSync(join(cwd, "a.ampnet"), "utf8")).toBe(slip);
    const { code, err } = await derate(cwd, ["check", "a.ampnet", "--fix-design"]);
    expect(code).toBe(0);
    expect(err).toContain(
      "until the chassis has been changed likewise, the file hides what is wrong with it",
    );
    expect(readFileSync(join(cwd, "a.ampnet"), "utf8")).toBe(slip.replace("100V film", "400V film"));
  });

  it("of what follows from another fault are not made: the fault is to be put right", async () => {
    // Without its bias the valve draws far more than the dropper bears, as if the dropper were the one that is too small.
    const text = `amp "A"
source B1 300V { plus: HT0, minus: gnd }
HT0 -- resistor R1 10R 0.5W 500V wirewound -- HT
HT -- resistor R4 1k 10W wirewound -- s1
HT -- resistor R5 100R 50W wirewound -- p1
valve V1 6L6GC { plate: p1, screen: s1, grid: g1, cathode: gnd }
g1 -- resistor R2 47k 0.5W -- gnd
`;
    const cwd = folder({ "a.ampnet": text });
    const { out } = await derate(cwd, ["check", "a.ampnet", "--format", "json"]);
    const [{ findings }] = JSON.parse(out).files;
    const dropper = findings.find(({ on }: { on: string[] }) => on.includes("R1"));
    expect(dropper).toMatchObject({ rule: "rating/resistor-power", follows: "valve/bias-missing" });
    await derate(cwd, ["check", "a.ampnet", "--fix-design"]);
    expect(readFileSync(join(cwd, "a.ampnet"), "utf8")).toContain("R1 10R 0.5W");
    // The same dropper with a load that draws as much by design.
    writeFileSync(join(cwd, "a.ampnet"), `${text.split("HT --")[0]}HT -- resistor R4 1k 300W 500V -- gnd\n`);
    await derate(cwd, ["check", "a.ampnet", "--fix-design"]);
    expect(readFileSync(join(cwd, "a.ampnet"), "utf8")).toMatch(/R1 10R [1-9]W/);
  });

  it("are shown as a diff, and not made, on a dry run", async () => {
    const cwd = folder({ "a.ampnet": slip });
    const { code, out } = await derate(cwd, ["check", "a.ampnet", "--fix-design", "--fix-dry-run"]);
    expect(code).toBe(1);
    expect(out).toContain("--- a/a.ampnet");
    expect(out).toContain(
      "-HT1 -- capacitor C1 100n 100V film -- gnd\n+HT1 -- capacitor C1 100n 400V film -- gnd\n",
    );
    expect(readFileSync(join(cwd, "a.ampnet"), "utf8")).toBe(slip);
    // The diff is one that another program can apply.
    writeFileSync(join(cwd, "change.diff"), out);
    execFileSync("git", ["apply", "change.diff"], { cwd });
    expect((await derate(cwd, ["check", "a.ampnet"])).code).toBe(0);
  });

  it("can't change standard input", async () => {
    const ran = await derate(folder(), ["check", "-", "--fix"]);
    expect(ran).toMatchObject({ code: 2, out: "" });
  });
});

describe("shards", () => {
  it("share the files out, all once, and merge to what one run finds", async () => {
    const files = Object.fromEntries(
      Array.from({ length: 7 }, (_, i) => [`amps/${i}.ampnet`, i % 2 ? bad : good]),
    );
    const cwd = folder(files);
    for (const nth of [1, 2, 3])
      await derate(cwd, ["check", "amps", "--shard", `${nth}/3`, "--output", `${nth}.sarif`]);
    await derate(cwd, ["check", "amps", "--output", "all.sarif"]);
    const { code } = await derate(cwd, [
      "merge",
      "3.sarif",
      "1.sarif",
      "2.sarif",
      "--output",
      "merged.sarif",
    ]);
    expect(code).toBe(0);
    const read = (name: string) => JSON.parse(readFileSync(join(cwd, name), "utf8"));
    expect(read("merged.sarif")).toEqual(read("all.sarif"));
    expect((await derate(cwd, ["check", "amps", "--shard", "4/3"])).err).toMatch(
      /write which of how many, as 2\/8/,
    );
    const empty = await derate(cwd, ["check", "amps", "--shard", "8/8"]);
    expect(empty.code).toBe(0);
    expect(empty.out).toMatch(/^No file is in this part of the run: nothing was checked\.\n/);
    writeFileSync(join(cwd, "not.sarif"), "{}");
    expect((await derate(cwd, ["merge", "1.sarif", "not.sarif", "gone.sarif"])).err).toBe(
      "derate: not.sarif: not a SARIF 2.1.0 file of one run of derate\nderate: gone.sarif: no such file or folder; mind its spelling, and the folder that derate runs in\n",
    );
  });
});

describe("comparison", () => {
  it("tells what changed in parts, volts, margins and findings", async () => {
    const divider = (lower: string, volts: number) =>
      `amp "A"\nsource B1 300V { plus: HT, minus: gnd }\nHT -- resistor R1 100k 1W 500V -- half -- resistor R2 ${lower} 1W 500V -- gnd\nhalf -- capacitor C1 100n ${volts}V film -- gnd\n`;
    const cwd = folder({
      "old.ampnet": divider("100k", 200),
      "new.ampnet": `${divider("300k", 200)}half -- resistor R3 10M 0.5W 500V -- gnd\n`,
    });
    const { code, out } = await derate(cwd, ["compare", "old.ampnet", "new.ampnet", "--format", "json"]);
    expect(code).toBe(1);
    const data = JSON.parse(out);
    expect(data.parts).toContainEqual({
      reference: "R2",
      change: "changed",
      facts: [{ name: "ohms", old: "100000", new: "300000" }],
    });
    expect(data.parts.find(({ reference }: { reference: string }) => reference === "R3").change).toBe(
      "added",
    );
    const half = data.volts.find(
      (v: { net: string; state: string; mains: string }) =>
        v.net === "half" && v.state === "idle" && v.mains === "nominal",
    );
    expect(half.old).toBeCloseTo(150, 6);
    expect(half.new).toBeCloseTo(300 / (1 + 1 / (3 * (10 / 10.3))), 3);
    expect(data.findings.appeared.map(({ rule }: { rule: string }) => rule)).toContain(
      "rating/capacitor-voltage",
    );
    expect(
      data.margins.find(
        ({ on, rule }: { on: string; rule: string }) => on === "C1" && rule === "rating/capacitor-voltage",
      ).new,
    ).toBeGreaterThan(1);
    expect((await derate(cwd, ["compare", "old.ampnet", "new.ampnet"])).out).toMatch(
      /Findings that appeared[\s\S]*Parts[\s\S]*R2 +ohms +100000 +-> +300000/,
    );
    const page = (await derate(cwd, ["compare", "old.ampnet", "new.ampnet", "--format", "markdown"])).out;
    expect(page).toContain("| R2 | ohms | 100000 | 300000 |");
    const none = await derate(cwd, ["compare", "old.ampnet", "old.ampnet"]);
    expect(none.code).toBe(0);
    expect(none.out).toContain("No part, voltage, margin or finding changed");
  });

  it("holds a file against its past in git", async () => {
    const cwd = folder({ "amps/a.ampnet": good });
    const git = (...args: string[]) =>
      execFileSync("git", ["-c", "user.name=x", "-c", "user.email=x@example.org", ...args], {
        cwd,
        stdio: "ignore",
      });
    git("init");
    git("add", ".");
    git("commit", "-m", "first");
    writeFileSync(join(cwd, "amps/a.ampnet"), bad);
    const ran = await derate(cwd, ["compare", "amps/a.ampnet", "--against", "HEAD", "--format", "json"]);
    expect(ran.code).toBe(1);
    expect(JSON.parse(ran.out).findings.appeared).toHaveLength(1);
    const wrong = await derate(cwd, ["compare", "amps/a.ampnet", "--against", "nowhere"]);
    expect(wrong).toMatchObject({ code: 2, out: "" });
    expect(wrong.err).toMatch(/amps\/a\.ampnet: not to be had from nowhere/);
    expect((await derate(cwd, ["compare", "amps/a.ampnet"])).err).toMatch(/give the old and the new netlist/);
  });
});

describe("init", () => {
  it("writes what a collection needs, touches nothing that is there, and its amplifier and configuration pass", async () => {
    const cwd = folder({ ".gitlab-ci.yml": "mine: true\n" });
    const { code, out } = await derate(cwd, ["init"]);
    expect(code).toBe(0);
    expect(out).toContain(".gitlab-ci.yml: there already, left as it is");
    expect(readFileSync(join(cwd, ".gitlab-ci.yml"), "utf8")).toBe("mine: true\n");
    expect(existsSync(join(cwd, ".github/workflows/derate.yml"))).toBe(true);
    const checked = await json(cwd, ["."]);
    expect(checked.code).toBe(0);
    expect(checked.files.map(({ path }) => path)).toEqual(["first.ampnet"]);
    expect(
      checked.files[0].findings.filter(({ severity }) => severity === "error" || severity === "warning"),
    ).toEqual([]);
  });
});
