/** The `derate` command: loads what reads the arguments, which loads the checker only for a command that checks. */
import { loadMain } from "./cli/load-main.ts";
import { status } from "./cli/status.ts";

// A reader that went away (`derate check . | head`) is no fault: stop writing, keep the status.
process.stdout.on("error", (error: NodeJS.ErrnoException) => {
  if (error.code === "EPIPE") process.exit();
  process.stderr.write(`derate: the output could not be written: ${error.message}\n`);
  process.exit(status.usage);
});
process.stderr.on("error", () => process.exit());

// Left to end by itself, so that everything written arrives.
void loadMain()
  .then(({ run, processHost }) => run(process.argv.slice(2), processHost()))
  .then((code) => {
    process.exitCode = code;
  });
