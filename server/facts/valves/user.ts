/**
 * A user's own valve types, from the parsed JSON of a file: the same shape as ours, with what a bench user need not
 * write filled in. Pure: whoever read the file decides where the valves go.
 */
import type { z } from "zod";
import type { ValveFile, ValveKind } from "./file.ts";
import { valveSchema } from "./schema.ts";
import { sectionNamesOf } from "./sections.ts";
import { withVariants } from "./variants.ts";

export interface UserValveProblem {
  /** Where in the file: `valves[0].limits.plate_V`; empty for the whole of it. */
  readonly field: string;
  /** The same as keys and indices from the top of the file. */
  readonly path: readonly (string | number)[];
  /** True: the key itself is wrong, not what stands behind it. */
  readonly key?: boolean;
  readonly message: string;
}

export interface UserValves {
  /** The types that are sound; a wrong one is left out, the others stay. */
  readonly valves: readonly ValveFile[];
  readonly problems: readonly UserValveProblem[];
}

type Loose = Record<string, unknown>;

/** Figures in a user's own file need no source of their own. */
const OWN = { source: "the user's own file", evidence: "seen" } as const;

/** Pins need not be known to compute: a section is then its electrodes alone. By kind, or by section where those differ. */
const ELECTRODES: Readonly<Record<string, readonly string[]>> = {
  triode: ["plate", "grid", "cathode"],
  "twin-triode": ["plate", "grid", "cathode"],
  pentode: ["plate", "grid", "screen", "suppressor", "cathode"],
  "beam-tetrode": ["plate", "grid", "screen", "cathode"],
  rectifier: ["plate1", "plate2", "cathode"],
  diode: ["anode", "cathode"],
};

/** Figures that a fit needs at least: a current, and two more to shape the curve. */
const LEAST_FIGURES = 3;

/**
 * @param json one valve, a list of them, or `{ "valves": [...] }`
 */
export function userValves(json: unknown): UserValves {
  const valves: ValveFile[] = [];
  const problems: UserValveProblem[] = [];
  const listed =
    isObject(json) && Array.isArray(json.valves) ? json.valves : Array.isArray(json) ? json : undefined;
  const entries: readonly unknown[] = listed ?? [json];
  const names = new Map<string, string>();
  entries.forEach((entry, index) => {
    const root = listed ? `valves[${index}]` : "";
    const top = !listed ? [] : Array.isArray(json) ? [index] : ["valves", index];
    const at = (path: readonly PropertyKey[]) => ({
      field: fieldOf(root, path),
      path: [...top, ...(path as (string | number)[])],
    });
    if (!isObject(entry)) {
      problems.push({
        ...at([]),
        message: `expected a valve ({ "type": …, "kind": … }), found ${kindOf(entry)}`,
      });
      return;
    }
    const parsed = valveSchema.safeParse(filledIn(entry));
    if (!parsed.success) {
      for (const issue of parsed.error.issues) {
        const { field, path } = at(issue.path);
        const unknown = issue.code === "unrecognized_keys" ? issue.keys.slice(0, 1) : [];
        problems.push({ field, path: [...path, ...unknown], key: unknown.length > 0, message: told(issue) });
      }
      return;
    }
    const valve = parsed.data as unknown as ValveFile;
    const lacking = lackOf(valve);
    if (lacking) problems.push({ ...at(lacking.path), message: lacking.message });
    for (const each of withVariants([valve])) {
      for (const name of [each.type, ...each.equivalents.map((equivalent) => equivalent.name)]) {
        const key = name.toUpperCase();
        const other = names.get(key);
        if (other !== undefined)
          problems.push({ ...at(["type"]), message: `${name} is also named by ${other}` });
        else names.set(key, each.type);
      }
      valves.push(each);
    }
  });
  return { valves, problems };
}

/** What the valve cannot be computed for want of; it is kept all the same, for its limits. */
function lackOf(valve: ValveFile): { path: PropertyKey[]; message: string } | undefined {
  if (valve.kind === "diode") return undefined;
  if (valve.kind === "rectifier") {
    if (valve.drop?.length) return undefined;
    return {
      path: ["drop"],
      message: "a rectifier needs its voltage drop at a current: it will not be solved",
    };
  }
  const wanted = sectionNamesOf(valve.kind);
  const named = valve.sections.map(({ name }) => name);
  if (valve.kind === "triode-pentode" && named.join() !== wanted.join()) {
    const names = wanted.map((name) => `"${name}"`).join(" and ");
    return { path: ["sections"], message: `a ${valve.kind} has the sections ${names}, in that order` };
  }
  for (const [index, section] of valve.sections.entries()) {
    const lacking = lackOfSection(valve, index);
    if (lacking && section.like === undefined) return lacking;
  }
  return undefined;
}

function lackOfSection(
  valve: ValveFile,
  index: number,
): { path: PropertyKey[]; message: string } | undefined {
  const section = valve.sections[index];
  const law = section.law ?? valve.law;
  if (law) {
    if (!("screen" in section.pins) || law.plate_share !== undefined) return undefined;
    return {
      path: section.law ? ["sections", index, "law", "plate_share"] : ["law", "plate_share"],
      message: "a pentode's law needs the plate's share of the current",
    };
  }
  const differ = valve.kind === "triode-pentode";
  const points = valve.points ?? [];
  const unsaid = points.findIndex((point) => point.section === undefined);
  if (differ && unsaid >= 0) {
    return {
      path: ["points", unsaid],
      message: 'says no section, where the sections differ: "section": 1 is the triode, 2 the pentode',
    };
  }
  const figures = points
    .filter((point) => !differ || point.section === index + 1)
    .flatMap((point) =>
      [point.plate_mA, point.screen_mA, point.gm_umho, point.rp_ohm, point.mu, point.power_W].filter(
        (v) => v !== undefined,
      ),
    );
  if (figures.length >= LEAST_FIGURES) return undefined;
  return {
    path: ["points"],
    message:
      `gives ${figures.length} figures ${differ ? `of the ${section.name} ` : ""}(plate current, gm, plate resistance…) where a fit needs ` +
      `${LEAST_FIGURES}, and no law: it will not be solved`,
  };
}

/** The entry with defaults: equivalents, sections, limits, and a source on every figure. */
function filledIn(entry: Loose): unknown {
  const filled: Loose = { equivalents: [], limits: {}, ...entry };
  filled.equivalents = namesIn(filled.equivalents);
  if (typeof filled.kind === "string") {
    const kind = filled.kind as ValveKind;
    const pinsOf = (name: unknown) =>
      Object.fromEntries(
        (ELECTRODES[kind] ?? ELECTRODES[String(name)] ?? []).map((electrode) => [electrode, ""]),
      );
    if (filled.sections === undefined) filled.sections = sectionNamesOf(kind).map((name) => ({ name }));
    if (Array.isArray(filled.sections)) {
      filled.sections = filled.sections.map((section) =>
        isObject(section)
          ? {
              pins: pinsOf(section.name),
              ...section,
              ...sourcedIn(section, ["limits"]),
            }
          : section,
      );
    }
  }
  Object.assign(filled, sourcedIn(filled, ["limits", "heater", "pinout_evidence"]));
  for (const key of ["limits_other", "points", "drop", "min_supply_impedance", "operations"]) {
    const list = filled[key];
    if (Array.isArray(list)) filled[key] = list.map((item) => (isObject(item) ? { ...OWN, ...item } : item));
  }
  for (const key of ["other_heaters", "other_bases"]) {
    const list = filled[key];
    if (!Array.isArray(list)) continue;
    filled[key] = list.map((item) =>
      isObject(item)
        ? {
            ...item,
            ...(item.equivalents === undefined ? undefined : { equivalents: namesIn(item.equivalents) }),
            ...sourcedIn(item, ["heater", "limits", "pinout_evidence"]),
          }
        : item,
    );
  }
  if (Array.isArray(filled.points)) {
    filled.points = filled.points.map((point) =>
      isObject(point) && point.mode === undefined ? { mode: "characteristic", ...point } : point,
    );
  }
  return filled;
}

/** Equivalents, each a name or a name with a note. */
const namesIn = (list: unknown): unknown =>
  Array.isArray(list) ? list.map((item) => (typeof item === "string" ? { name: item } : item)) : list;

/** Those of the keys that hold an object, with a source. */
const sourcedIn = (entry: Loose, keys: readonly string[]): Loose =>
  Object.fromEntries(
    keys.flatMap((key) => (isObject(entry[key]) ? [[key, { ...OWN, ...(entry[key] as Loose) }]] : [])),
  );

const isObject = (value: unknown): value is Loose =>
  typeof value === "object" && value !== null && !Array.isArray(value);

function kindOf(value: unknown): string {
  if (value === null) return "null";
  if (Array.isArray(value)) return "a list";
  return typeof value === "object" ? "an object" : `a ${typeof value}`;
}

function fieldOf(root: string, path: readonly PropertyKey[]): string {
  let field = root;
  for (const key of path) {
    if (typeof key === "number") field += `[${key}]`;
    else field += field === "" ? String(key) : `.${String(key)}`;
  }
  return field;
}

/** The schema's complaint in a sentence. */
function told(issue: z.core.$ZodIssue): string {
  if (issue.code === "unrecognized_keys") {
    return `unknown ${issue.keys.length > 1 ? "fields" : "field"} ${issue.keys.map((key) => `"${key}"`).join(", ")}`;
  }
  if (issue.code === "invalid_value")
    return `expected one of ${issue.values.map((value) => `"${String(value)}"`).join(", ")}`;
  return issue.message.replace(/^Invalid input: /, "");
}
