/** The facts of a kind as a zod schema, made when first asked for: the reader's quick look passes all that it would pass. */
import * as z from "zod/mini";
import type { FactTable, NumberFact } from "./kinds/kind.ts";

const made = new WeakMap<FactTable, z.ZodMiniType>();

function numberSchema(fact: NumberFact): z.ZodMiniType<number | undefined> {
  const least = fact.least ?? 0;
  const floor = fact.zero
    ? z.minimum(least, `expected ${least} or more`)
    : z.gt(least, `expected more than ${least}`);
  return z.optional(
    z.number("expected a number").check(floor, z.maximum(fact.most, `expected ${fact.most} at most`)),
  );
}

/** Every field of a kind's facts, each optional: what is missing is told by the kind, which knows the default. */
export function factSchema(table: FactTable): z.ZodMiniType {
  let schema = made.get(table);
  if (!schema) {
    const shape: Record<string, z.ZodMiniType> = {};
    for (const fact of table.numbers) shape[fact.field] = numberSchema(fact);
    const words = new Map<string, string[]>();
    for (const { field, value } of Object.values(table.words))
      words.set(field, [...(words.get(field) ?? []), value]);
    for (const [field, values] of words) shape[field] ??= z.optional(z.enum(values as [string, ...string[]]));
    schema = z.strictObject(shape);
    made.set(table, schema);
  }
  return schema;
}

/** What is wrong with values by field, in SI units; empty where nothing is. */
export function issuesOf(table: FactTable, values: Readonly<Record<string, unknown>>): readonly string[] {
  const result = factSchema(table).safeParse(values);
  return result.success ? [] : (result.error?.issues ?? []).map((issue) => issue.message);
}
