/**
 * Nets by name, and the resolving of what stands where a net may: a name, a block's parameter, or a terminal written
 * elsewhere (`V1.a.plate`, `T1.ht.1`, `N.R1.a`), in any order of writing.
 */
import type { Range, Word } from "../../grammar/tree.ts";
import type { RawPart, Wiring } from "./kinds/kind.ts";
import type { Net, NetIndex, Place } from "./model.ts";
import { near, type Problems, problem, withArticle } from "./problems.ts";
import { fullReference, type Scope, sharedNets } from "./scope.ts";
import { terminalOf, terminalsOf } from "./wire.ts";

/** Stands for the net of a terminal whose wiring is being followed: a ring of aliases ends there. */
const following: NetIndex = -1;
/** Past this many slips no near names are looked for: each costs a look at every part. */
const mostNear = 50;

export class Nets {
  private readonly names: string[] = [];
  private readonly mentions: Place[][] = [];
  private readonly byName = new Map<string, NetIndex>();
  /** Aliases told to be wrong, by file and place: a block's are met once for each use. */
  private readonly told = new Set<string>();

  constructor(
    private readonly parts: ReadonlyMap<string, RawPart>,
    private readonly prefixes: ReadonlySet<string>,
    private readonly problems: Problems,
  ) {}

  /** The net of a name, made where there is none. */
  named(name: string): NetIndex {
    const known = this.byName.get(name);
    if (known !== undefined) return known;
    const index = this.names.length;
    this.names.push(name);
    this.mentions.push([]);
    this.byName.set(name, index);
    return index;
  }

  find(name: string): NetIndex | undefined {
    return this.byName.get(name);
  }

  /** Resolves a word that names a net, and counts it. */
  mention(wiring: Wiring): NetIndex {
    const net = this.followed(wiring);
    this.mentions[net].push(wiring.place);
    return net;
  }

  /** The net of a word; once found it is kept. */
  private followed(wiring: Wiring): NetIndex {
    if (wiring.net !== undefined) return wiring.net;
    wiring.net = following;
    const net = this.resolve(wiring.word, wiring.scope);
    wiring.net = net;
    return net;
  }

  /** The net of a word where a net may stand. */
  resolve(word: Word, scope: Scope): NetIndex {
    const { text } = word;
    if (text.includes(".")) return this.alias(word, scope);
    if (scope.prefix === "" || sharedNets.has(text)) return this.named(text);
    const argument = scope.passed?.get(text);
    if (!argument) return this.named(scope.prefix + text);
    if (argument.isReference) {
      this.tellOnce(
        word.range,
        scope,
        "circuit/unknown-terminal",
        `${text} stands for a part here: say which terminal, such as ${text}.plate.`,
        text,
      );
      return this.named(scope.prefix + text);
    }
    return this.resolve(argument.word, argument.scope);
  }

  /** The net that a terminal of a part sits on; `undefined` where nothing names it. */
  terminal(raw: RawPart, key: string): NetIndex | undefined {
    const wiring = raw.wiring.get(key);
    if (!wiring) return raw.fresh?.get(key);
    // Aliases that only name each other: one net, called by the terminal where the ring closed.
    if (wiring.net === following) return this.named(`${raw.reference}.${key}`);
    return this.followed(wiring);
  }

  everyName(): readonly string[] {
    return this.names;
  }

  /** The key of a terminal from the words behind the reference; undefined where the part has none such. */
  keyOf(raw: RawPart, pieces: readonly string[]): string | undefined {
    if (raw.spec.terminalKey) return raw.spec.terminalKey(raw, pieces);
    if (pieces.length !== 1) return undefined;
    return terminalOf(pieces[0], terminalsOf(raw))?.name;
  }

  finish(): { readonly nets: readonly Net[]; readonly netByName: ReadonlyMap<string, NetIndex> } {
    const nets = this.names.map((name, index): Net => ({ index, name, mentions: this.mentions[index] }));
    return { nets, netByName: this.byName };
  }

  // ── terminals written elsewhere ──────────────────────────────
  private alias(word: Word, scope: Scope): NetIndex {
    const { prefix, text } = fullReference(word.text, scope);
    const full = prefix + text;
    // From the right, so that a stage's part (`N.R1.a`) is found before the stage.
    for (let dot = full.lastIndexOf("."); dot > 0; dot = full.lastIndexOf(".", dot - 1)) {
      const raw = this.parts.get(full.slice(0, dot));
      if (raw) return this.aliasOf(raw, full.slice(dot + 1), word, scope, full);
    }
    // A net within a stage: `N.k1`.
    const last = full.lastIndexOf(".");
    if (this.prefixes.has(full.slice(0, last))) return this.named(full);
    this.tellUnknownPart(word, scope, full);
    return this.named(full);
  }

  private aliasOf(raw: RawPart, rest: string, word: Word, scope: Scope, full: string): NetIndex {
    const pieces = rest.split(".");
    const key = this.keyOf(raw, pieces);
    if (key === undefined) {
      const names = namesOf(raw);
      const place = { file: scope.file, range: word.range };
      const { sentence, fix } = near(rest, names, place, `Terminals of ${raw.reference}`);
      const lead = word.text.slice(0, word.text.length - rest.length);
      this.tellOnce(
        word.range,
        scope,
        "circuit/unknown-terminal",
        `${raw.reference} is ${withArticle(raw.spec.kind)} and has no terminal called ${rest}.${sentence}`,
        raw.reference,
        fix && { title: `Write ${lead}${fix.text}`, place, text: lead + fix.text },
      );
      return this.named(full);
    }
    const net = this.terminal(raw, key);
    if (net !== undefined) return net;
    const fresh = this.named(`${raw.reference}.${key}`);
    raw.fresh ??= new Map();
    raw.fresh.set(key, fresh);
    return fresh;
  }

  private tellUnknownPart(word: Word, scope: Scope, full: string): void {
    const dot = word.text.indexOf(".");
    const first = word.text.slice(0, dot);
    const every = this.told.size < mostNear ? [...this.parts.keys(), ...this.prefixes] : [];
    const known = every
      .filter((name) => name.startsWith(scope.prefix))
      .map((name) => name.slice(scope.prefix.length));
    const range: Range = { start: word.range.start, end: word.range.start + first.length };
    const place = { file: scope.file, range };
    const { sentence, fix } = near(first, known, place, "Parts");
    this.tellOnce(
      range,
      scope,
      "circuit/unknown-reference",
      `There is no part called ${first}, whose terminal ${word.text.slice(dot + 1)} is named here.${sentence}`,
      full,
      fix,
    );
  }

  private tellOnce(
    range: Range,
    scope: Scope,
    rule: string,
    message: string,
    on: string,
    fix?: { title: string; place: Place; text: string },
  ): void {
    const key = `${scope.file}:${range.start}`;
    if (this.told.has(key)) return;
    this.told.add(key);
    this.problems.push(problem(rule, message, scope.file, range, [on], { fix }));
  }
}

function namesOf(raw: RawPart): readonly string[] {
  return raw.spec.terminalNames?.(raw) ?? terminalsOf(raw).map((one) => one.name);
}
