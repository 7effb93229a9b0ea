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

// Small ones, as many as a large collection has: what is held of each shows.
const small = `amp "First stage"
source B1 250V 1k { plus: HT, minus: gnd }
source B2 6.3V { plus: h1, minus: gnd }
valve V1.a ECC83 { plate: p1, grid: g1, cathode: k1 }
valve V1 ECC83 { heater: h1 gnd }
g1 -- resistor R2 1M 0.5W metal-film -- gnd
HT -- resistor R3 100k 1W metal-film -- p1
k1 -- resistor R4 1k5 0.5W metal-film -- gnd
p1 -- capacitor C2 22n 630V film -- out -- resistor R5 1M 0.5W metal-film -- gnd
`;
const counts = [200, 1000, 2000];
for (const count of counts) {
  mkdirSync(join(folder, `small-${count}`));
  for (let i = 0; i < count; i++)
    writeFileSync(join(folder, `small-${count}`, `${i}.ampnet`), `# amplifier ${i}\n${small}`);
}

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

/** Resident at most in megabytes, told by the process itself as it ends: the kernel's own count of it. */
function peak(...args: string[]): number {
  const { error, stderr } = spawnSync(process.execPath, ["-r", join(folder, "peak.cjs"), cli, ...args], {
    cwd: folder,
    encoding: "utf8",
    maxBuffer: 1 << 29,
  });
  if (error) throw error;
  return Number(/peak (\d+)/.exec(stderr)?.[1]) / 1024;
}
writeFileSync(
  join(folder, "peak.cjs"),
  `require("node:worker_threads").isMainThread && process.on("exit", () =>
    require("node:fs").writeSync(2, "peak " + process.resourceUsage().maxRSS + "\\n"));`,
);

let measured = false;

describe("peak resident memory", () => {
  bench(
    "of 200, 1,000 and 2,000 files, once",
    () => {
      // The bench's own machinery calls this more than once.
      if (measured) return;
      measured = true;
      const rows = counts.map((count) => {
        const many = `small-${count}`;
        return {
          files: count,
          "summary, MB": Math.round(peak("check", many, "--summary")),
          "JSON, SARIF and JUnit, MB": Math.round(
            peak("check", many, "--format", "json", "--output", "a.sarif", "--output", "a.xml"),
          ),
        };
      });
      console.table(rows);
    },
    { iterations: 1, time: 0, warmupIterations: 0, warmupTime: 0 },
  );
});
