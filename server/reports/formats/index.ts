/** Every format that findings are written in, by the name that the command line takes. */
import type { Rule, Severity } from "../../rules/rule.ts";
import { jsonWriter } from "../json.ts";
import type { FileReport } from "../report.ts";
import { type TextOptions, textWriter } from "../text.ts";
import { type ReportWriter, written } from "../writer.ts";
import { azureWriter, githubWriter } from "./annotations.ts";
import { checkstyleWriter } from "./checkstyle.ts";
import { codeQualityWriter } from "./codeQuality.ts";
import { csvWriter } from "./csv.ts";
import { junitWriter } from "./junit.ts";
import { markdownWriter } from "./markdown.ts";
import { sarifWriter } from "./sarif.ts";

export interface FormatContext {
  /** Told by SARIF alone: for the others it may be empty. */
  readonly rules: readonly Rule[];
  /** Of the program. */
  readonly version: string;
  /** The severity from which on a finding fails the run. */
  readonly failOn: Severity;
  readonly text: TextOptions;
}

export type FormatName =
  | "text"
  | "json"
  | "sarif"
  | "junit"
  | "checkstyle"
  | "github"
  | "azure"
  | "gitlab"
  | "markdown"
  | "csv";

/** @param paths of all reports that will come, in their order */
export type Format = (context: FormatContext, paths: readonly string[]) => ReportWriter;

export const writers: Readonly<Record<FormatName, Format>> = {
  text: ({ text }) => textWriter(text),
  json: jsonWriter,
  sarif: sarifWriter,
  junit: junitWriter,
  checkstyle: checkstyleWriter,
  github: githubWriter,
  azure: azureWriter,
  gitlab: codeQualityWriter,
  markdown: markdownWriter,
  csv: csvWriter,
};

type AtOnce = (reports: readonly FileReport[], context: FormatContext) => string;

/** The same for reports that are all there. */
export const formats = Object.fromEntries(
  Object.entries(writers).map(([name, writer]): [string, AtOnce] => [
    name,
    (reports, context) =>
      written(
        writer(
          context,
          reports.map(({ path }) => path),
        ),
        reports,
      ),
  ]),
) as Readonly<Record<FormatName, AtOnce>>;
