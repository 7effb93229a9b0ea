/** What a whole process costs, beside the cost of an empty one in the same run: the machine's noise hits both. */
import { execFileSync, spawnSync } from "node:child_process";
import { mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { afterAll, bench, describe } from "vitest";

const root = resolve(import.meta.dirname, "../..");
const folder = mkdtempSync(join(tmpdir(), "derate-bench-"));
const cli = join(folder, "dist/cli.js");
execFileSync(process.execPath, ["scripts/build.mjs", join(folder, "dist")], { cwd: root });
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const samples = readdirSync(join(root, "samples"))
  .filter((name) => name.endsWith(".ampnet"))
  .map((name) => readFileSync(join(root, "samples", name), "utf8"));
writeFileSync(join(folder, "one.ampnet"), samples[0]);
mkdirSync(join(folder, "many"));
// No two alike, so that nothing is found twice by its content.
for (let i = 0; i < 1000; i++)
  writeFileSync(join(folder, "many", `${i}.ampnet`), `# amplifier ${i}\n${samples[i % samples.length]}`);

const node = (...args: string[]) => {
  const { error, status } = spawnSync(process.execPath, args, { cwd: folder, stdio: "ignore" });
  if (error || (status !== 0 && status !== 1)) throw error ?? new Error(`ended with status ${status}`);
};
const options = { iterations: 20, time: 0, warmupIterations: 2, warmupTime: 0 };
const few = { iterations: 3, time: 0, warmupIterations: 0, warmupTime: 0 };

describe("whole process, one amplifier", () => {
  bench("node -e 0", () => node("-e", "0"), options);
  bench("derate --version", () => node(cli, "--version"), options);
  bench("derate --help", () => node(cli, "--help"), options);
  bench("derate check", () => node(cli, "check", "one.ampnet"), options);
});

describe("whole process, 1,000 amplifiers", () => {
  bench("checked", () => node(cli, "check", "many", "--summary"), few);
  bench("from a warm cache", () => node(cli, "check", "many", "--summary", "--cache"), {
    ...few,
    warmupIterations: 1,
  });
});
