/** The commands, their options, and their help. No command's work is loaded before it is called. */
import { Command, Option } from "commander";
import type { Host } from "./host.ts";
import type { Checking, Commands } from "./load.ts";
import { version } from "./version.ts";

/** These lists stand beside the ones that they repeat by a test, so that the help needs none of the core. */
export const stateNames = ["cold", "standby", "idle", "drive", "pulled"] as const;
export const mainsLevels = ["low", "nominal", "high"] as const;
export const severityNames = ["error", "warning", "advice", "unchecked"] as const;
export const formatNames = [
  "text",
  "json",
  "sarif",
  "junit",
  "checkstyle",
  "github",
  "azure",
  "gitlab",
  "markdown",
  "csv",
] as const;
export const shells = ["bash", "zsh", "fish"] as const;

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

const checkExamples = `
Examples:
  derate check amps/ --output findings.sarif --output junit:tests.xml
  derate check 'amps/**/*.ampnet' --fail-on warning --cache
  derate check - --as amps/new.ampnet < new.ampnet
  derate check amps/ --baseline derate-baseline.json
  derate check amps/ --fix-dry-run

A format is told by the file's ending (.sarif, .xml for junit, .md, .csv, .json, .txt) or put before its name.`;

/**
 * @param load gives the commands' work
 * @param finish called with the exit status of the command that ran
 * @throws CommanderError for wrong arguments, and after help and version
 */
export function program(
  host: Host,
  load: { readonly commands: () => Promise<Commands>; readonly checking: () => Promise<Checking> },
  finish: (code: number) => void,
): Command {
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

  const command = (name: string, description: string, under = root): Command =>
    under
      .command(name)
      .description(description)
      .showHelpAfterError(
        `"${under === root ? "" : `${root.name()} `}${under.name()} ${name} --help" lists its options.`,
      )
      .option("--debug", "on a fault of derate's own, print where it happened");
  const colours = (own: Command): Command =>
    own
      .option("--color", "colours even when the output is no terminal")
      .option("--no-color", "no colours (NO_COLOR in the environment does the same)");
  const each = (value: string, before: readonly string[] = []) => [...before, value];
  const choice = (flags: string, description: string, choices: readonly string[]) =>
    new Option(flags, description).choices(choices);
  const textOrJson = () => choice("--format <format>", "how it is written", ["text", "json"]).default("text");
  const which = (own: Command): Command =>
    own
      .option("--config <file>", "this configuration instead of the nearest derate.config.json")
      .option("--no-config", "no configuration")
      .option("--no-ignore", "leave nothing out of a search")
      .option(
        "--rule <rule=severity>",
        "a rule's or family's severity for this run, or off (repeatable)",
        each,
      )
      .option("--today <date>", "judge waivers as of this day (2027-03-01) instead of today")
      .option("--shard <part/parts>", "one part of the files, for a run spread over machines (2/8)");
  const speed = (own: Command): Command =>
    own
      .option("--cache [folder]", "keep results by content, and take those that still hold (.derate-cache)")
      .option("--threads <number>", "threads to check in (as many as the work is worth)");

  speed(which(colours(command("check", "check files and folders"))))
    .argument(
      "<path...>",
      'netlist files, folders to search for .ampnet files, patterns, "-" for standard input',
    )
    .addOption(choice("--format <format>", "how findings are written", formatNames).default("text"))
    .option("--output <[format:]file>", "also write them to a file, whole or not at all (repeatable)", each)
    .option("--quiet", "errors and the summary alone")
    .option("--summary", "the summary alone")
    .option("--as <name>", "the name of what comes from standard input")
    .addOption(
      choice("--fail-on <severity>", "end with status 1 from this severity on", severityNames).default(
        "error",
      ),
    )
    .option("--max-warnings <number>", "end with status 1 when there are more warnings")
    .option("--baseline <file>", 'findings that this file knows don\'t fail ("derate baseline" makes it)')
    .option("--fix", "put right what is only written wrong, each change tried first")
    .option("--fix-design", "also make changes of parts in the file; the amplifier must be changed likewise")
    .option("--fix-dry-run", "show the changes as a diff, and make none")
    .option("--watch", "check again whenever a file changes, until interrupted")
    .addHelpText("after", checkExamples)
    .action(async (paths: string[], options) =>
      finish(await (await load.checking()).check(paths, options, host)),
    );

  colours(command("volts", "print the voltages of one file"))
    .argument("<file>", 'a netlist file, or "-" for standard input')
    .addOption(choice("--state <state>", "one state instead of all", stateNames))
    .addOption(choice("--mains <level>", "one mains level instead of all", mainsLevels))
    .option("--parts", "currents, dissipations and discharge times of the parts too")
    .option("--config <file>", "this configuration instead of the nearest derate.config.json")
    .option("--no-config", "no configuration")
    .addOption(textOrJson())
    .action(async (file: string, options) =>
      finish(await (await load.commands()).volts(file, options, host)),
    );

  colours(command("explain", "print what a rule checks, why, and where its figures come from"))
    .argument("<rule>", "a rule's id, for instance mains/fuse-first")
    .addOption(textOrJson())
    .action(async (rule: string, options) =>
      finish(await (await load.commands()).explain(rule, options, host)),
    );

  colours(command("rules", "list the rules"))
    .addOption(textOrJson())
    .action(async (options) => finish(await (await load.commands()).rules(options, host)));

  command("format", "set the columns of files, changing no part, net or comment")
    .argument(
      "<path...>",
      'netlist files, folders to search, patterns; "-" for standard input to standard output',
    )
    .option(
      "--check",
      "change nothing; name the files that would change, and end with status 1 if there are any",
    )
    .action(async (paths: string[], options) =>
      finish(await (await load.commands()).format(paths, options, host)),
    );

  colours(command("compare", "tell what changed between two netlists: parts, voltages, margins, findings"))
    .argument("<old>", "the netlist before; with --against the one that is compared with its own past")
    .argument("[new]", "the netlist after")
    .option("--against <revision>", "the old one is the file as it was in this git revision")
    .addOption(choice("--format <format>", "how it is written", ["text", "markdown", "json"]).default("text"))
    .action(async (before: string, after: string | undefined, options) =>
      finish(await (await load.commands()).compare(before, after, options, host)),
    );

  const baseline = root.command("baseline").description("put known findings by, so that only new ones fail");
  speed(which(command("write", "write the findings of today into the baseline", baseline)))
    .argument("<path...>", "netlist files, folders, patterns")
    .option("--baseline <file>", "where", "derate-baseline.json")
    .action(async (paths: string[], options) =>
      finish(await (await load.checking()).baselineWrite(paths, options, host)),
    );
  speed(which(colours(command("check", "check, telling only what the baseline doesn't know", baseline))))
    .argument("<path...>", "netlist files, folders, patterns")
    .option("--baseline <file>", "where", "derate-baseline.json")
    .addOption(choice("--format <format>", "how findings are written", formatNames).default("text"))
    .option("--output <[format:]file>", "also write them to a file, whole or not at all (repeatable)", each)
    .addOption(
      choice("--fail-on <severity>", "end with status 1 from this severity on", severityNames).default(
        "error",
      ),
    )
    .action(async (paths: string[], options) =>
      finish(await (await load.checking()).check(paths, options, host)),
    );

  command("merge", "put the SARIF files of a run's shards together")
    .argument("<file...>", "SARIF files that derate wrote")
    .option("--output <file>", "write it there instead of to standard output")
    .action(async (files: string[], options) =>
      finish(await (await load.commands()).merge(files, options, host)),
    );

  command("config", "print the settings that hold for a file, and where they come from")
    .argument("[path]", "a netlist; it need not exist", "any.ampnet")
    .option("--config <file>", "this configuration instead of the nearest derate.config.json")
    .option("--schema", "print the JSON schema of derate.config.json")
    .action(async (path: string, options) =>
      finish(await (await load.commands()).config(path, options, host)),
    );

  command(
    "init",
    "write a configuration, a first amplifier and CI workflows; nothing that is there is touched",
  )
    .argument("[folder]", "where", ".")
    .action(async (folder: string, options) =>
      finish(await (await load.commands()).init(folder, options, host)),
    );

  command("completion", "print a shell's completion script")
    .addArgument(root.createArgument("<shell>", "the shell").choices(shells))
    .addHelpText("after", '\nFor instance: eval "$(derate completion bash)"')
    .action(async (shell: (typeof shells)[number]) =>
      finish(await (await load.commands()).completion(shell, host)),
    );

  return root;
}
