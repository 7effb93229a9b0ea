/** Every kind of part by its word. */
import { capacitor } from "./capacitor.ts";
import { choke } from "./choke.ts";
import { colourWords } from "./conductors.ts";
import { cord, inlet } from "./cord.ts";
import { bridge, diode, zener } from "./diodes.ts";
import { fuse } from "./fuse.ts";
import type { FactTable, KindSpec, TerminalSpec } from "./kind.ts";
import { outputTransformer } from "./output-transformer.ts";
import { pot } from "./pot.ts";
import { resistor } from "./resistor.ts";
import { bond, jack, lamp, source, speaker, terminalStrip, wire } from "./simple.ts";
import { switchKind } from "./switch.ts";
import { thermistor } from "./thermistor.ts";
import { transformer } from "./transformer.ts";
import { valve } from "./valve.ts";
import { windingFacts } from "./windings.ts";

export const kindSpecs: readonly KindSpec[] = [
  resistor,
  pot,
  thermistor,
  capacitor,
  choke,
  diode,
  zener,
  bridge,
  valve,
  transformer,
  outputTransformer,
  cord,
  inlet,
  fuse,
  switchKind,
  bond,
  wire,
  jack,
  lamp,
  speaker,
  source,
  terminalStrip,
];

const byWord: ReadonlyMap<string, KindSpec> = new Map(kindSpecs.map((spec) => [spec.kind, spec]));

export function kindOf(word: string): KindSpec | undefined {
  return byWord.get(word);
}

export type { FactTable, KindSpec, NumberFact, TerminalSpec, WordFact } from "./kind.ts";

/**
 * What a fact's word or a terminal's name means where it stands.
 * @param place the kind; with ` lead` or ` row` behind it for what is written of one
 */
export function meaningOf(place: string, word: string): string | undefined {
  const [kind, inner] = place.split(" ");
  const spec = kindOf(kind);
  if (!spec) return undefined;
  const words: FactTable["words"] =
    inner === "row" ? windingFacts.words : inner === "lead" ? colourWords : spec.facts.words;
  const terminal = ({ name, aliases = [] }: TerminalSpec) => name === word || aliases.includes(word);
  return words[word]?.description ?? spec.terminals.find(terminal)?.description;
}

/** What an editor shows of a kind. */
export interface KindDefinition {
  readonly kind: string;
  /** One sentence for hovers. */
  readonly help: string;
  /** Terminals in a path, left to right; empty where it cannot stand in a path. */
  readonly path: readonly string[];
  /** Terminals that can be written in its block; `any` where they are free names. */
  readonly terminals: readonly string[] | "any";
  /** Words that may stand as facts. */
  readonly words: readonly string[];
  readonly facts: readonly { readonly example: string; readonly what: string; readonly required?: boolean }[];
  readonly limits: readonly string[];
}

export const kindDefinitions: ReadonlyMap<string, KindDefinition> = new Map(
  kindSpecs.map((spec) => {
    const terminals = spec.terminals.map((one) => one.name);
    const definition: KindDefinition = {
      kind: spec.kind,
      help: spec.description,
      path: spec.path ? terminals.slice(0, 2) : [],
      terminals: spec.kind === "terminal-strip" ? "any" : (spec.rows ?? terminals),
      words: Object.keys(spec.facts.words),
      facts: [
        ...(spec.facts.type
          ? [{ example: spec.facts.type.example, what: "type", required: spec.facts.type.required }]
          : []),
        ...spec.facts.numbers.map(({ example, what, required }) => ({ example, what, required })),
      ],
      limits: spec.limits,
    };
    return [spec.kind, definition];
  }),
);
