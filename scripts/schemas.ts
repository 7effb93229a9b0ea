/** Writes `schemas/`: the JSON schemas that are published with the package. A test holds them to what they are made from. */
import { mkdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { fileURLToPath, pathToFileURL } from "node:url";
import { z } from "zod";
import { jsonSchema } from "../server/config/schema.ts";
import { ownValvesSchema } from "../server/facts/valves/own-schema.ts";
import { checkSchema, voltsSchema } from "../server/reports/schema.ts";

export const schemasFolder = join(fileURLToPath(new URL("..", import.meta.url)), "schemas");

/** File name -> text. */
export function schemas(): ReadonlyMap<string, string> {
  const text = (schema: object) => `${JSON.stringify(schema, undefined, 2)}\n`;
  return new Map([
    ["derate.config.schema.json", text(jsonSchema())],
    ["valves.schema.json", text(ownValvesSchema())],
    ["check.schema.json", text({ ...z.toJSONSchema(checkSchema), title: "derate check --format json" })],
    ["volts.schema.json", text({ ...z.toJSONSchema(voltsSchema), title: "derate volts --format json" })],
  ]);
}

if (import.meta.url === pathToFileURL(process.argv[1] ?? "").href) {
  mkdirSync(schemasFolder, { recursive: true });
  for (const [name, content] of schemas()) writeFileSync(join(schemasFolder, name), content);
}
