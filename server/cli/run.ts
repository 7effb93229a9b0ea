/** From arguments to an exit status. Every error ends here, in a plain sentence. */
import { CommanderError } from "commander";
import type { Host } from "./host.ts";
import { loadChecking, loadCommands } from "./load.ts";
import { program } from "./program.ts";
import { isUsageError, status } from "./status.ts";

/**
 * @param args what follows the command's name
 * @returns the exit status, as `status.ts` lists them
 */
export async function run(args: readonly string[], host: Host): Promise<number> {
  let code: number = status.clean;
  try {
    const command = program(host, { commands: loadCommands, checking: loadChecking }, (given) => {
      code = given;
    });
    await command.parseAsync([...args], { from: "user" });
    return code;
  } catch (error) {
    if (error instanceof CommanderError) return error.exitCode === 0 ? status.clean : status.usage;
    if (isUsageError(error)) {
      for (const line of error.message.split("\n")) host.err(`derate: ${line}\n`);
      return status.usage;
    }
    return fault(error, args, host);
  }
}

/** A fault of ours, told without the inner workings unless they are asked for. */
function fault(error: unknown, args: readonly string[], host: Host): number {
  const debug = args.includes("--debug");
  const detail = error instanceof Error ? error.message : String(error);
  host.err(
    `derate: this is a fault of this program, not of your file: ${detail}\n` +
      "Nothing that it would have checked has been checked. Please report it, with the file that shows it" +
      `${debug ? "." : "; --debug shows where it happened."}\n`,
  );
  if (debug && error instanceof Error) host.err(`${error.stack}\n`);
  return status.fault;
}
