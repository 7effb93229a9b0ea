/** The commands, their options, and their help. No command's work is loaded before it is called. */
import { Command, Option } from "commander";
import type { Host } from "./host.ts";
import { loadCommands } from "./load.ts";
import { version } from "./version.ts";

/** Kept beside the physics' own lists by a test, so that the help needs none of the physics. */
export const stateNames = ["cold", "standby", "idle", "drive", "pulled"] as const;
export const mainsLevels = ["low", "nominal", "high"] as const;

const examples = `
Examples:
  derate check wattlebird.ampnet            findings, with the line each stands on
  derate check samples/ --quiet             errors alone, in a whole folder
  derate volts wattlebird.ampnet            the voltage of every net
  derate volts amp.ampnet --state idle --mains high --parts
  derate explain rating/capacitor-voltage   why a rule is there, and its figures' source
  derate format amp.ampnet                  sets the columns, changes no part

Exit status: 0 nothing at error level, 1 findings at it, 2 the command can't be done as given, 3 a fault of derate.

A finding, or none, is never leave to touch a chassis: unplug it, let it discharge, measure that it has.`;

/**
 * @param finish called with the exit status of the command that ran
 * @throws CommanderError for wrong arguments, and after help and version
 */
export function program(host: Host, finish: (code: number) => void): Command {
  const root = new Command("derate")
    .description(
      "Checks valve-amplifier netlists (.ampnet): voltages, ratings in every state, mains and earth.",
    )
    .version(version, "-V, --version", "print the version")
    .helpOption("-h, --help", "print help")
    .addHelpText("after", examples)
    .exitOverride()
    .showHelpAfterError('"derate --help" lists the commands and their options.')
    .configureOutput({
      writeOut: host.out,
      writeErr: host.err,
      getOutHelpWidth: () => Math.min(host.columns ?? 100, 100),
      getErrHelpWidth: () => Math.min(host.columns ?? 100, 100),
      getOutHasColors: () => false,
      getErrHasColors: () => false,
      outputError: (text, write) => write(text.replace(/^error: /, "derate: ")),
    });

  const command = (usage: string, description: string): Command => {
    const own = root.command(usage).description(description);
    return own.option("--debug", "on a fault of derate's own, print where it happened");
  };
  const colours = (own: Command): Command =>
    own
      .option("--color", "colours even when the output is no terminal")
      .option("--no-color", "no colours (NO_COLOR in the environment does the same)");

  colours(command("check", "check files and folders"))
    .argument("<path...>", "netlist files, and folders to search for .ampnet files")
    .addOption(
      new Option("--format <format>", "how findings are written").choices(["text", "json"]).default("text"),
    )
    .option("--quiet", "errors and the summary alone")
    .option("--summary", "the summary alone")
    .option("--today <date>", "judge waivers as of this day (2027-03-01) instead of today")
    .action(async (paths: string[], options) => finish((await loadCommands()).check(paths, options, host)));

  colours(command("volts", "print the voltages of one file"))
    .argument("<file>", "a netlist file")
    .addOption(new Option("--state <state>", "one state instead of all").choices(stateNames))
    .addOption(new Option("--mains <level>", "one mains level instead of all").choices(mainsLevels))
    .option("--parts", "currents, dissipations and discharge times of the parts too")
    .addOption(
      new Option("--format <format>", "how they are written").choices(["text", "json"]).default("text"),
    )
    .action(async (file: string, options) => finish((await loadCommands()).volts(file, options, host)));

  colours(command("explain", "print what a rule checks, why, and where its figures come from"))
    .argument("<rule>", "a rule's id, for instance mains/fuse-first")
    .addOption(new Option("--format <format>", "how it is written").choices(["text", "json"]).default("text"))
    .action(async (rule: string, options) => finish((await loadCommands()).explain(rule, options, host)));

  colours(command("rules", "list the rules"))
    .addOption(
      new Option("--format <format>", "how they are written").choices(["text", "json"]).default("text"),
    )
    .action(async (options) => finish((await loadCommands()).rules(options, host)));

  command("format", "set the columns of files, changing no part, net or comment")
    .argument("<path...>", "netlist files, and folders to search for .ampnet files")
    .option(
      "--check",
      "change nothing; name the files that would change, and end with status 1 if there are any",
    )
    .action(async (paths: string[], options) => finish((await loadCommands()).format(paths, options, host)));

  return root;
}
