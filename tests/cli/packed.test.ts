/** The package as a shop gets it: packed, installed in an empty folder, run on a repository of amplifiers as a CI would. */
import { execFileSync, spawnSync } from "node:child_process";
import { cpSync, existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";

const root = resolve(import.meta.dirname, "../..");
let folder: string;
let shop: string;

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "derate-packed-"));
  const staged = join(folder, "staged");
  mkdirSync(staged);
  for (const name of ["package.json", "README.md", "LICENSE", "grammar", "samples", "schemas", "docs"])
    if (existsSync(join(root, name))) cpSync(join(root, name), join(staged, name), { recursive: true });
  execFileSync(process.execPath, ["scripts/build.mjs", join(staged, "dist")], { cwd: root });
  const packed = execFileSync("npm", ["pack", "--ignore-scripts", "--silent"], {
    cwd: staged,
    encoding: "utf8",
  }).trim();

  shop = join(folder, "shop");
  mkdirSync(shop);
  writeFileSync(join(shop, "package.json"), '{ "private": true }\n');
  execFileSync("npm", ["install", "--offline", "--no-audit", "--no-fund", "--silent", join(staged, packed)], {
    cwd: shop,
  });
  cpSync(join(root, "samples"), join(shop, "amps"), { recursive: true });
  const git = (...args: string[]) =>
    execFileSync("git", ["-c", "user.name=x", "-c", "user.email=x@example.org", ...args], {
      cwd: shop,
      stdio: "ignore",
    });
  git("init");
  writeFileSync(join(shop, ".gitignore"), "node_modules/\n");
  git("add", ".");
  git("commit", "-m", "amplifiers");
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const derate = (...args: string[]) =>
  spawnSync(join(shop, "node_modules/.bin/derate"), args, {
    cwd: shop,
    encoding: "utf8",
    maxBuffer: 1 << 28,
    env: { PATH: process.env.PATH, CI: "true" },
  });

describe("the packed package", () => {
  it("needs no other package", () => {
    const { dependencies } = JSON.parse(readFileSync(join(shop, "node_modules/derate/package.json"), "utf8"));
    expect(dependencies).toBeUndefined();
    expect(existsSync(join(shop, "node_modules/derate/schemas/derate.config.schema.json"))).toBe(true);
    expect(existsSync(join(shop, "node_modules/derate/server"))).toBe(false);
  });

  it("checks the collection, writes what a CI reads, and fails it for its faults", () => {
    const { status, stdout, stderr } = derate(
      "check",
      ".",
      "--format",
      "github",
      "--output",
      "derate.sarif",
      "--cache",
    );
    expect({ status, stderr }).toEqual({ status: 1, stderr: "" });
    expect(stdout).toMatch(/^::error file=amps\/mudlark-5\.ampnet,line=\d+.*title=mains\/fuse-tip::/m);
    const { runs } = JSON.parse(readFileSync(join(shop, "derate.sarif"), "utf8"));
    expect(runs[0].results.length).toBeGreaterThan(3);
    // From the cache the same, byte for byte.
    const again = derate("check", ".", "--format", "github", "--cache");
    expect(again.stdout).toBe(stdout);
  });

  it("finds the same on one thread and on several", () => {
    const one = derate("check", "amps", "--format", "json", "--threads", "1");
    const two = derate("check", "amps", "--format", "json", "--threads", "2");
    expect(two.status).toBe(1);
    expect(two.stdout).toBe(one.stdout);
  });

  it("passes with a baseline as long as nothing new comes, mains and earth excepted", () => {
    rmSync(join(shop, "amps/mudlark-5.ampnet"));
    expect(derate("baseline", "write", "amps").status).toBe(0);
    expect(derate("baseline", "check", "amps").status).toBe(0);
    execFileSync("git", ["checkout", "--", "amps/mudlark-5.ampnet"], { cwd: shop });
    expect(derate("baseline", "check", "amps").status).toBe(1);
  });

  it("compares a changed amplifier with its last revision", () => {
    const path = join(shop, "amps/fantail-5.ampnet");
    const text = readFileSync(path, "utf8");
    const [, reference, value] = /resistor (R\d+) (\d+)R /.exec(text) ?? [];
    expect(reference).toBeDefined();
    writeFileSync(
      path,
      text.replace(`resistor ${reference} ${value}R `, `resistor ${reference} ${2 * Number(value)}R `),
    );
    const { stdout } = derate("compare", "amps/fantail-5.ampnet", "--against", "HEAD");
    writeFileSync(path, text);
    expect(stdout).toMatch(new RegExp(`${reference} +ohms +${value} +-> +${2 * Number(value)}`));
  });
});
