/**
 * What `npm start` shows: the voltages of one sample amplifier and the findings of all of them. Some samples have faults
 * on purpose, so a check that ends with findings is what this expects; anything else that goes wrong ends it.
 */
import { spawnSync } from "node:child_process";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";

const root = join(dirname(fileURLToPath(import.meta.url)), "..");

function derate(...args) {
  console.log(`$ derate ${args.join(" ")}\n`);
  const { status, error } = spawnSync(process.execPath, ["dist/cli.js", ...args], {
    cwd: root,
    stdio: "inherit",
  });
  if (error || (status !== 0 && status !== 1)) {
    console.error(error?.message ?? `derate ended with status ${status}`);
    process.exit(status || 3);
  }
  console.log();
  return status;
}

derate("volts", "samples/currawong-15.ampnet", "--state", "idle");
const found = derate("check", "samples");
if (found === 1)
  console.log(
    'Some of the samples have faults as found on a bench, so "derate check" ended with status 1, as it would in a CI.',
  );
