/** The editor's settings under `derate`, checked: a wrong value is told and the default taken. */
import { z } from "zod";

const schema = z.object({
  hints: z
    .object({
      show: z.enum(["all", "line", "off"]).default("line"),
      state: z.enum(["cold", "standby", "idle", "drive", "pulled"]).default("idle"),
      mains: z.enum(["low", "nominal", "high"]).default("nominal"),
    })
    .prefault({}),
  lenses: z.boolean().default(true),
  unchecked: z.boolean().default(true),
});

export type Settings = z.infer<typeof schema>;

export const defaults: Settings = schema.parse({});

/** @returns the settings, and a sentence for each value that could not be taken. */
export function readSettings(raw: unknown): {
  readonly settings: Settings;
  readonly problems: readonly string[];
} {
  const parsed = schema.safeParse(raw ?? {});
  if (parsed.success) return { settings: parsed.data, problems: [] };
  const problems = parsed.error.issues.map(
    ({ path, message }) => `derate.${path.join(".")}: ${message}; the default is used.`,
  );
  // Take what is right: drop the values that are wrong and read again.
  const kept = structuredClone(raw) as Record<string, unknown>;
  for (const { path } of parsed.error.issues) drop(kept, path);
  const again = schema.safeParse(kept);
  return { settings: again.success ? again.data : defaults, problems };
}

function drop(value: Record<string, unknown>, path: readonly PropertyKey[]): void {
  let at: unknown = value;
  for (const key of path.slice(0, -1)) at = (at as Record<PropertyKey, unknown> | undefined)?.[key];
  const last = path[path.length - 1];
  if (at !== null && typeof at === "object" && last !== undefined)
    delete (at as Record<PropertyKey, unknown>)[last];
}
