/** What a `derate.config.json` may say. The published JSON schema is made from this. */
import { z } from "zod";

export { configName as fileName } from "./names.ts";

export const regions = ["AU", "NZ", "UK", "EU", "CH", "US", "CA", "JP"] as const;

const wish = z
  .enum(["error", "warning", "advice", "unchecked", "off"])
  .describe('A severity, or "off". An error of the mains and earth families stays an error.');

/** What holds for every file, and what an override may change for some. */
const settings = {
  severity: z
    .record(z.string(), wish)
    .optional()
    .describe(
      'Severity by rule ("rating/resistor-power") or by family ("rating"); a rule goes before its family.',
    ),
  margins: z
    .record(z.string(), z.number("a share of the rating, above 0 and at most 1").gt(0).max(1))
    .optional()
    .describe('The share of a rating that practice allows, by family of parts: { "resistor": 0.5 }.'),
  region: z.enum(regions).optional().describe("The mains region of files whose mains line names none."),
  ambient: z
    .number("degrees Celsius")
    .min(-40)
    .max(125)
    .optional()
    .describe('The air around the parts in degrees Celsius, for files without "assume ambient".'),
  valves: z
    .array(z.string().min(1))
    .optional()
    .describe(
      "Files with valve types of your own, from this file's folder. A type of a published name takes its place.",
    ),
};

const globs = z.array(z.string().min(1));

export const configSchema = z
  .strictObject({
    $schema: z.string().optional().describe("Where this schema is, for an editor's help."),
    extends: z
      .union([z.string().min(1), globs])
      .optional()
      .describe(
        "Another configuration, or several, from this file's folder; what stands here goes before theirs.",
      ),
    ...settings,
    ignore: globs
      .optional()
      .describe("Files and folders that a search of a folder leaves out, in the patterns of .gitignore."),
    overrides: z
      .array(
        z.strictObject({
          files: globs
            .min(1)
            .describe("Which files, from this file's folder; a pattern without / holds in any folder."),
          ...settings,
        }),
      )
      .optional()
      .describe("Other settings for some files; a later one goes before an earlier one."),
  })
  .describe("Configuration of derate, found upward from each netlist.");

export type Config = z.infer<typeof configSchema>;
export type Settings = Pick<Config, "severity" | "margins" | "region" | "ambient" | "valves">;

/** The schema to publish, JSON Schema 2020-12. */
export function jsonSchema(): object {
  return { ...z.toJSONSchema(configSchema), title: "derate.config.json" };
}
