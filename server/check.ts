/** The one pure function that the rest of the program calls: text in, voltages and findings out. */
import type { Tree } from "../grammar/tree.ts";
import type { Circuit } from "./circuit/model.ts";
import type { Analysis } from "./physics/results.ts";
import type { CheckOptions, Finding, Margin, Unchecked } from "./rules/rule.ts";

/** How included files are read; gives undefined where there is no such file. Pure in tests, the file system in hosts. */
export type ReadInclude = (file: string) => string | undefined;

export interface CheckResult {
  readonly file: string;
  /** Every file read, main first, with its text and tree. */
  readonly sources: ReadonlyMap<string, { readonly text: string; readonly tree: Tree }>;
  readonly circuit: Circuit;
  readonly analysis: Analysis;
  /** Sorted by file, place, rule. Waived ones stay, marked. */
  readonly findings: readonly Finding[];
  /** Limits held against a number. */
  readonly checked: number;
  /** Limits that could not be checked. */
  readonly unchecked: number;
  /** The limits that were held against numbers, and those that could not be: for margin tables. */
  readonly margins: readonly Margin[];
  readonly missed: readonly Unchecked[];
}

export interface CheckInput extends CheckOptions {
  readonly readInclude?: ReadInclude;
}

/** @throws never for any text. */
export type Check = (file: string, text: string, input?: CheckInput) => CheckResult;
