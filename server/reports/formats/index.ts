/** Every format that findings are written in, by the name that the command line takes. */
import type { Rule, Severity } from "../../rules/rule.ts";
import { jsonReport } from "../json.ts";
import type { FileReport } from "../report.ts";
import { type TextOptions, textReport } from "../text.ts";
import { azureReport, githubReport } from "./annotations.ts";
import { checkstyleReport } from "./checkstyle.ts";
import { codeQualityReport } from "./codeQuality.ts";
import { csvReport } from "./csv.ts";
import { junitReport } from "./junit.ts";
import { markdownReport } from "./markdown.ts";
import { sarifReport } from "./sarif.ts";

export interface FormatContext {
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

export const formats: Readonly<
  Record<FormatName, (reports: readonly FileReport[], context: FormatContext) => string>
> = {
  text: (reports, { text }) => textReport(reports, text),
  json: jsonReport,
  sarif: sarifReport,
  junit: junitReport,
  checkstyle: checkstyleReport,
  github: githubReport,
  azure: azureReport,
  gitlab: codeQualityReport,
  markdown: markdownReport,
  csv: csvReport,
};
