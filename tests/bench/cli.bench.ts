/** What a whole process costs, beside the cost of an empty one in the same run: the machine's noise hits both. */
import { execFileSync, spawnSync } from "node:child_process";
import { mkdtempSync, readdirSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { bench, describe } from "vitest";

const root = resolve(import.meta.dirname, "../..");
const dist = join(mkdtempSync(join(tmpdir(), "derate-bench-")), "dist");
execFileSync(process.execPath, ["scripts/build.mjs", dist], { cwd: root });
const cli = join(dist, "cli.js");
const sample = readdirSync(join(root, "samples"), { recursive: true, encoding: "utf8" }).find((path) =>
  path.endsWith(".ampnet"),
);

const node = (...args: string[]) => {
  const { error } = spawnSync(process.execPath, args, { cwd: root, stdio: "ignore" });
  if (error) throw error;
};
const options = { iterations: 20, time: 0, warmupIterations: 2, warmupTime: 0 };

describe("whole process", () => {
  bench("node -e 0", () => node("-e", "0"), options);
  bench("derate --version", () => node(cli, "--version"), options);
  bench("derate --help", () => node(cli, "--help"), options);
  if (sample)
    bench("derate check, one amplifier", () => node(cli, "check", join("samples", sample)), options);
});
