/** The built program as a process of its own: what only a real process can show. */
import { execFileSync, spawn, spawnSync } from "node:child_process";
import { createHash } from "node:crypto";
import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { checkSchema } from "../../server/reports/schema.ts";

const root = resolve(import.meta.dirname, "../..");
let folder: string;
let cli: string;

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "derate-built-"));
  execFileSync(process.execPath, ["scripts/build.mjs", join(folder, "dist")], { cwd: root });
  cli = join(folder, "dist/cli.js");
  writeFileSync(
    join(folder, "bad.ampnet"),
    'amp "Bench"\nsource B1 300V { plus: HT, minus: gnd }\nHT -- capacitor C1 100n 100V film -- gnd\n',
  );
  const many = Array.from(
    { length: 2000 },
    (_, i) => `HT -- capacitor C${i + 2} 100n 100V film -- gnd\n`,
  ).join("");
  // Tells of every script that is run with kept code whether V8 took it.
  writeFileSync(
    join(folder, "told.cjs"),
    `const vm = require("node:vm");
    const { basename } = require("node:path");
    const { Script } = vm;
    vm.Script = class extends Script {
      constructor(text, options) {
        super(text, options);
        const taken = this.cachedDataRejected === false;
        process.stderr.write(basename(options.filename) + (taken ? " taken\\n" : " not taken\\n"));
      }
    };`,
  );
  writeFileSync(join(folder, "long.ampnet"), `source B1 300V { plus: HT, minus: gnd }\n${many}`);
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const derate = (args: string[], env: NodeJS.ProcessEnv = {}) =>
  spawnSync(process.execPath, [cli, ...args], {
    cwd: folder,
    encoding: "utf8",
    maxBuffer: 1 << 28,
    env: { PATH: process.env.PATH, ...env },
  });

describe("the built command", () => {
  it("answers --version with the package's version, and --help, without the core", () => {
    const { version } = JSON.parse(readFileSync(join(root, "package.json"), "utf8"));
    const alone = mkdtempSync(join(tmpdir(), "derate-alone-"));
    try {
      writeFileSync(join(alone, "cli.cjs"), readFileSync(cli));
      writeFileSync(join(alone, "main.js"), readFileSync(join(folder, "dist/main.js")));
      const ran = (arg: string) =>
        spawnSync(process.execPath, [join(alone, "cli.cjs"), arg], { encoding: "utf8" });
      expect(ran("--version")).toMatchObject({ status: 0, stdout: `${version}\n`, stderr: "" });
      expect(ran("--help")).toMatchObject({ status: 0, stderr: "" });
    } finally {
      rmSync(alone, { recursive: true });
    }
  });

  it("takes the compiled code that the build made of what it loads", () => {
    const dist = join(folder, "dist");
    const kept = readdirSync(dist).filter((name) => name.endsWith(".cache"));
    expect(kept.length).toBeGreaterThan(1);
    for (const name of kept) {
      const [, bundle, hash] = /^(.+\.js)\.([0-9a-f]+)\./.exec(name) ?? [];
      const text = readFileSync(join(dist, bundle));
      expect(createHash("sha256").update(text).digest("hex").slice(0, hash.length)).toBe(hash);
    }
    // Without the code in the way that it is asked for, a run says so by what it reads.
    const ran = spawnSync(process.execPath, ["-r", join(folder, "told.cjs"), cli, "check", "bad.ampnet"], {
      cwd: folder,
      encoding: "utf8",
    });
    expect(ran.stderr).toBe("main.js taken\ncheck.js taken\ncommands.js taken\n");
  });

  it("checks a file: status, findings on standard output, no colours in a pipe", () => {
    const { status, stdout, stderr } = derate(["check", "bad.ampnet"], {
      CI: "true",
      COLORTERM: "truecolor",
    });
    expect({ status, stderr }).toEqual({ status: 1, stderr: "" });
    expect(stdout).toContain("error: C1 sees 300 V");
    expect(stdout).not.toContain("\u001b");
  });

  it("writes all of a long report into a pipe", () => {
    const { status, stdout } = derate(["check", "long.ampnet", "--format", "json"]);
    expect(status).toBe(1);
    const [{ findings }] = checkSchema.parse(JSON.parse(stdout)).files;
    expect(findings.filter(({ rule }) => rule === "rating/capacitor-voltage")).toHaveLength(2000);
  });

  it("ends quietly when the reader goes away", async () => {
    const child = spawn(process.execPath, [cli, "check", "long.ampnet"], { cwd: folder });
    let errors = "";
    child.stderr.on("data", (chunk) => {
      errors += chunk;
    });
    child.stdout.once("data", () => child.stdout.destroy());
    const code = await new Promise((done) => child.on("close", done));
    expect(errors).toBe("");
    expect([0, 1]).toContain(code);
  });

  it("ends with 2 for a wrong option and for a file that isn't there", () => {
    expect(derate(["check", "--wrong", "bad.ampnet"])).toMatchObject({ status: 2, stdout: "" });
    expect(derate(["check", "gone.ampnet"])).toMatchObject({
      status: 2,
      stdout: "",
      stderr:
        "derate: gone.ampnet: no such file or folder; mind its spelling, and the folder that derate runs in\n",
    });
  });

  it("is one file that a shell can start", () => {
    expect(readFileSync(cli, "utf8").startsWith("#!/usr/bin/env node\n")).toBe(true);
  });
});
