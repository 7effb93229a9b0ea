/**
 * What goes wrong around a run: it is interrupted, the disk is full, a file is nothing that was ever a netlist. Outputs are
 * whole or not there, every message says what to do, and nothing takes more than its size in time.
 */
import { execFileSync, spawn, spawnSync } from "node:child_process";
import { existsSync, mkdirSync, readdirSync, readFileSync, statSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, it } from "vitest";
import { checkSchema } from "../../server/reports/schema.ts";
import { built } from "../lsp/client.ts";
import { folder } from "./host.ts";

const build = built();
const cli = () => join(build.dist, "cli.js");
const run = (cwd: string, ...args: string[]) =>
  spawnSync(process.execPath, [cli(), ...args], {
    cwd,
    encoding: "utf8",
    maxBuffer: 1 << 29,
    timeout: 240_000,
  });

const bench = (volts: number) =>
  `amp "Bench"\nsource B1 300V { plus: HT, minus: gnd }\nHT -- capacitor C1 100n ${volts}V film -- gnd\n`;

describe("texts that were never a netlist", () => {
  const repeated = (text: string, times: number) => text.repeat(times);
  it.each([
    ["20,000 lines of one part", repeated("R1 resistor 1k\n", 20_000), 1],
    ["20,000 parts of one reference", repeated("resistor R1 1k\n", 20_000), 1],
    ["10,000 parts of one reference side by side", repeated("a -- resistor R1 1k -- b\n", 10_000), 1],
    ["10,000 parts on one line", `a${repeated(" -- resistor R1 1k -- a", 10_000)}\n`, 1],
    [
      "1,000 valves of one name",
      repeated("valve V1 EL84 { plate: p, screen: p, grid: g, cathode: k }\n", 1000),
      1,
    ],
    ["20,000 wrong lines", repeated("resistor resistor {{{ -- }\n", 20_000), 1],
    ["a million comments", repeated("# x\n", 1_000_000), 0],
    ["a million brackets", repeated("{", 1_000_000), 1],
    ["one word of 4 MB", "x".repeat(4_000_000), 1],
  ])("%s: findings in bounded time", { timeout: 240_000 }, (_, text, code) => {
    const cwd = folder({ "a.ampnet": text });
    for (const format of ["json", "text"]) {
      const ran = run(cwd, "check", "a.ampnet", "--format", format);
      expect(ran.signal).toBeNull();
      expect({ status: ran.status, stderr: ran.stderr }).toEqual({ status: code, stderr: "" });
      if (format === "json") expect(checkSchema.parse(JSON.parse(ran.stdout)).files).toHaveLength(1);
    }
  });

  it("larger than any amplifier, binary, a device, a folder of that name: told, with what to do", () => {
    const cwd = folder({
      "large.ampnet": "resistor R1 1k\n".repeat(350_000),
      "binary.ampnet": new Uint8Array(Array.from({ length: 4096 }, (_, i) => (i * 7919) % 256)),
    });
    mkdirSync(join(cwd, "folder.ampnet"));
    const ran = run(cwd, "check", "large.ampnet", "binary.ampnet");
    expect(ran).toMatchObject({ status: 2, stdout: expect.stringMatching(/2 files: 2 errors/) });
    expect(ran.stderr).toMatch(
      /large\.ampnet: 5\.0 MB, and none of more than 4 MB is checked; .*is this the file/,
    );
    expect(ran.stderr).toMatch(/binary\.ampnet: not a text file in UTF-8; save it as UTF-8/);
    expect(run(cwd, "check", "folder.ampnet").stderr).toMatch(/no \.ampnet file in this folder/);
    expect(run(cwd, "check", "nothing/*.ampnet").stderr).toMatch(/no file matches this pattern/);
    writeFileSync(join(cwd, "good.ampnet"), bench(630));
    expect(run(cwd, "check", "g*.ampnet", "--summary")).toMatchObject({ status: 0, stderr: "" });
    expect(run(cwd, "check", "--no-such-option").stderr).toMatch(/--no-such-option/);
  });

  it("two files that include each other are told, and the rest of them is checked", () => {
    const cwd = folder({
      "a.ampnet": `include "b.ampnet"\n${bench(100)}`,
      "b.ampnet": 'include "a.ampnet"\nHT -- resistor R1 1M 1W 500V -- gnd\n',
    });
    const ran = run(cwd, "check", "a.ampnet", "--format", "json");
    expect(ran).toMatchObject({ status: 1, stderr: "" });
    const rules = checkSchema.parse(JSON.parse(ran.stdout)).files[0].findings.map(({ rule }) => rule);
    expect(rules).toContain("rating/capacitor-voltage");
    expect(rules.some((rule) => rule.startsWith("circuit/"))).toBe(true);
  });
});

describe("an interrupted run", () => {
  it("leaves outputs as they were, and nothing half-written", { timeout: 240_000 }, async () => {
    const files: Record<string, string> = { "out.json": "as it was" };
    for (let i = 0; i < 40; i++) files[`amps/${i}.ampnet`] = "a -- resistor R1 1k -- b\n".repeat(3000);
    const cwd = folder(files);
    const child = spawn(
      process.execPath,
      [cli(), "check", "amps", "--output", "out.json", "--output", "new.sarif", "--cache"],
      { cwd, stdio: "ignore" },
    );
    const ended = new Promise<{ code: number | null; signal: string | null }>((done) =>
      child.on("close", (code, signal) => done({ code, signal })),
    );
    // In the middle: some results are there, not all.
    const cached = () =>
      existsSync(join(cwd, ".derate-cache")) ? readdirSync(join(cwd, ".derate-cache")).length : 0;
    for (let turn = 0; turn < 2000 && cached() === 0; turn++)
      await new Promise((done) => setTimeout(done, 10));
    expect(child.exitCode).toBeNull();
    child.kill("SIGINT");
    const { code, signal } = await ended;
    expect(signal === "SIGINT" || code === 130).toBe(true);
    expect(readFileSync(join(cwd, "out.json"), "utf8")).toBe("as it was");
    expect(readdirSync(cwd).sort()).toEqual([".derate-cache", "amps", "out.json"]);
    // What rests in the cache is whole: the next run ends as if nothing had been.
    const again = run(cwd, "check", "amps", "--output", "out.json", "--cache", "--summary");
    expect(again).toMatchObject({ status: 1, stderr: "" });
    expect(checkSchema.parse(JSON.parse(readFileSync(join(cwd, "out.json"), "utf8"))).files).toHaveLength(40);
  });
});

describe.skipIf(!existsSync("/dev/full"))("a full disk", () => {
  it("is told with what to do, on standard output and as a file, and no device is replaced", () => {
    const cwd = folder({ "a.ampnet": bench(630) });
    const ran = run(cwd, "check", "a.ampnet", "--output", "json:/dev/full");
    expect(ran.status).toBe(2);
    expect(ran.stderr).toBe(
      "derate: /dev/full: not written: the disk is full; make room, or name a place on another one\n",
    );
    expect(statSync("/dev/full").isCharacterDevice()).toBe(true);
    const piped = spawnSync("sh", ["-c", `"${process.execPath}" "${cli()}" check a.ampnet > /dev/full`], {
      cwd,
      encoding: "utf8",
    });
    expect(piped.status).toBe(2);
    expect(piped.stderr).toMatch(/the output could not be written: .*(ENOSPC|the disk is full)/);
  });

  it("of a few kilobytes takes no part of an output, and keeps the old one", (context) => {
    const cwd = folder({ "a.ampnet": bench(100).repeat(400) });
    const small = join(cwd, "small");
    mkdirSync(small);
    try {
      execFileSync("mount", ["-t", "tmpfs", "-o", "size=16k", "tmpfs", small], { stdio: "ignore" });
    } catch {
      context.skip("no right to mount a small disk here");
    }
    try {
      writeFileSync(join(small, "out.json"), "as it was");
      const ran = run(cwd, "check", "a.ampnet", "--output", "small/out.json", "--output", "beside.json");
      expect(ran.status).toBe(2);
      expect(ran.stderr).toMatch(/small\/out\.json: not written: the disk is full; make room/);
      expect(readFileSync(join(small, "out.json"), "utf8")).toBe("as it was");
      expect(readdirSync(small)).toEqual(["out.json"]);
      // The other one was tried all the same, and is whole.
      expect(
        checkSchema.parse(JSON.parse(readFileSync(join(cwd, "beside.json"), "utf8"))).files,
      ).toHaveLength(1);
    } finally {
      execFileSync("umount", [small]);
    }
  });
});

describe("a reader that goes away", () => {
  it("ends the run quietly, outputs written", async () => {
    const cwd = folder({ "a.ampnet": "a -- resistor R1 1k -- b\n".repeat(3000) });
    const child = spawn(process.execPath, [cli(), "check", "a.ampnet", "--output", "out.json"], { cwd });
    let errors = "";
    child.stderr.on("data", (chunk) => {
      errors += chunk;
    });
    child.stdout.once("data", () => child.stdout.destroy());
    await new Promise((done) => child.on("close", done));
    expect(errors).toBe("");
    expect(checkSchema.parse(JSON.parse(readFileSync(join(cwd, "out.json"), "utf8"))).files).toHaveLength(1);
  });
});
