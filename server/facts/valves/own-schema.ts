/** The JSON schema of a user's own file of valves, made from our own files' schema: what may be left out is not required. */
import { z } from "zod";
import { valveSchema } from "./schema.ts";

type Node = { [key: string]: unknown };

/** Filled in where a user leaves it out. */
const filled = new Set(["source", "evidence", "mode", "equivalents", "sections", "limits"]);

/** JSON Schema 2020-12: one valve, a list of them, or `{ "valves": [...] }`. */
export function ownValvesSchema(): object {
  const { $schema, ...whole } = z.toJSONSchema(valveSchema) as Node;
  const valve = loosened(whole) as Node;
  const properties = valve.properties as Record<string, Node>;
  properties.equivalents = {
    ...properties.equivalents,
    items: { anyOf: [{ type: "string", minLength: 1 }, (properties.equivalents as Node).items] },
  };
  const one = { $ref: "#/$defs/valve" };
  const list = { type: "array", items: one };
  return {
    $schema,
    title: "valve types for derate",
    anyOf: [one, list, { type: "object", properties: { valves: list }, required: ["valves"] }],
    $defs: { valve },
  };
}

function loosened(node: unknown): unknown {
  if (Array.isArray(node)) return node.map(loosened);
  if (typeof node !== "object" || node === null) return node;
  const copy: Node = Object.fromEntries(Object.entries(node).map(([key, value]) => [key, loosened(value)]));
  if (Array.isArray(copy.required)) copy.required = copy.required.filter((name) => !filled.has(name));
  return copy;
}
