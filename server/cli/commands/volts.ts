/** `derate volts FILE` */
import { resolve } from "node:path";
import { check } from "../../check.ts";
import type { MainsLevel } from "../../circuit/model.ts";
import { checkOptions } from "../../config/options.ts";
import type { StateName } from "../../physics/results.ts";
import { count } from "../../reports/units.ts";
import { type VoltsReport, voltsReport } from "../../reports/volts.ts";
import { voltsText } from "../../reports/voltsText.ts";
import { type ConfigOption, configuration } from "../configuration.ts";
import { decode, findNetlists, includeReader, type NetlistFile, readNetlist } from "../files.ts";
import type { Host } from "../host.ts";
import { type ColourOption, page } from "../page.ts";
import { status, UsageError } from "../status.ts";
import { inputName, inputPath } from "../unread.ts";

export interface VoltsCommandOptions extends ColourOption, ConfigOption {
  readonly format: "text" | "json";
  readonly state?: StateName;
  readonly mains?: MainsLevel;
  readonly parts?: boolean;
}

export async function volts(path: string, options: VoltsCommandOptions, host: Host): Promise<number> {
  const { file, text } = path === "-" ? await fromInput(host) : await fromDisk(path, host);
  const settings = checkOptions(await configuration(options, host).for(file.absolute), host.today);
  const result = check(file.path, text, { ...settings, readInclude: includeReader(host) });
  if (options.state === "drive")
    throw new UsageError(
      `${file.path}: driven, volts swing: there is no table of them. What each output stage delivers and dissipates then stands under "drive" of --format json, and "derate check" holds it to the limits`,
    );
  if (options.state && !result.analysis.states.includes(options.state))
    throw new UsageError(
      `${file.path}: this amplifier has no state "${options.state}"; it has ${result.analysis.states.join(", ") || "none"}`,
    );
  const report = voltsReport(result, {
    states: options.state && [options.state],
    mains: options.mains && [options.mains],
  });
  host.out(
    options.format === "json"
      ? `${JSON.stringify(report, undefined, 2)}\n`
      : voltsText(report, { ...page(options, host), parts: options.parts }),
  );
  const errors = result.findings.filter(({ severity, waived }) => severity === "error" && !waived).length;
  if (errors > 0)
    host.err(
      `derate: ${count(errors, "error")} in ${file.path}: "derate check" tells what; the voltages hold for what could be read.\n`,
    );
  return solved(report) ? status.clean : status.findings;
}

interface Netlist {
  readonly file: NetlistFile;
  readonly text: string;
}

async function fromDisk(path: string, host: Host): Promise<Netlist> {
  const { files } = await findNetlists([path], host);
  if (files.length !== 1) throw new UsageError(`${path}: a folder; "derate volts" takes one file`);
  return { file: files[0], text: readNetlist(files[0]) };
}

async function fromInput(host: Host): Promise<Netlist> {
  const text = decode(inputName, await host.readInput());
  return { file: { path: inputPath, absolute: resolve(host.cwd, inputPath) }, text };
}

function solved({ states }: VoltsReport): boolean {
  return Object.values(states).every((byLevel) =>
    Object.values(byLevel).every((solution) => solution.solved),
  );
}
