/**
 * Texts and checks: what is open, what lies on disk, which file includes which, and the newest check of each amplifier.
 * An included file has no check of its own while an amplifier that includes it is known: it is seen through that one.
 */
import type { CancellationToken } from "vscode-languageserver-protocol";
import { atOnce, type InSteps } from "../../grammar/in-steps.ts";
import { parseInSteps } from "../../grammar/parse.ts";
import { Reader } from "../../grammar/reparse.ts";
import type { Statement, Tree } from "../../grammar/tree.ts";
import { type CheckResult, checkSteps } from "../check.ts";
import { Earlier } from "../earlier.ts";
import { type CheckedDocument, checkedDocument } from "../editor/document.ts";
import type { CheckOptions } from "../rules/rule.ts";
import { LARGEST_TEXT, type ServerHost } from "./host.ts";
import { resolveUri } from "./uri.ts";

interface Source {
  readonly text: string;
  readonly open: boolean;
  /** Counts changes of this text, whatever the client's version says. */
  readonly revision: number;
}

interface Checked {
  readonly result: CheckResult;
  readonly document: Map<string, CheckedDocument>;
  /** Revision of everything that the check read. */
  readonly stamp: number;
  readonly milliseconds: number;
}

/** How long work may go on before others get their turn, milliseconds. */
const TURN = 10;

export class Workspace {
  readonly #sources = new Map<string, Source>();
  readonly #includes = new Map<string, readonly string[]>();
  readonly #checks = new Map<string, Checked>();
  readonly #running = new Map<
    string,
    { readonly stamp: number; readonly promise: Promise<Checked | undefined> }
  >();
  /** The newest text of a file with the numbers of its last finished check, while the next one runs. */
  readonly #ahead = new Map<
    string,
    {
      readonly known: Checked;
      readonly text: string;
      readonly document: Promise<CheckedDocument | undefined>;
    }
  >();
  /** One for all amplifiers: what it keeps is bounded, however many are open. */
  readonly #earlier = new Earlier();
  /** Of the open files. */
  readonly #readers = new Map<string, Reader>();
  #revision = 0;

  /** @param optionsFor what holds for an amplifier; after a change of it, `touchAll` */
  constructor(
    private readonly host: ServerHost,
    private readonly optionsFor: (uri: string) => Promise<CheckOptions> = async () => ({}),
  ) {}

  touchAll(): void {
    this.#revision++;
    for (const [uri, source] of this.#sources)
      this.#sources.set(uri, { ...source, revision: this.#revision });
  }

  open(uri: string, text: string): void {
    this.#set(uri, text, true);
  }

  /** The text on disk counts again. */
  async close(uri: string): Promise<void> {
    this.#sources.delete(uri);
    this.#readers.delete(uri);
    this.#checks.delete(uri);
    this.#ahead.delete(uri);
    await this.refresh(uri);
  }

  /** Reads a file that changed on disk, unless it is open. @returns whether anything changed */
  async refresh(uri: string): Promise<boolean> {
    if (this.#sources.get(uri)?.open) return false;
    const text = await this.host.readText(uri);
    if (this.#sources.get(uri)?.open) return false;
    if (text === undefined) {
      const was = this.#sources.delete(uri);
      this.#includes.delete(uri);
      this.#checks.delete(uri);
      if (was) this.#revision++;
      return was;
    }
    if (this.#sources.get(uri)?.text === text) return false;
    this.#set(uri, text, false);
    return true;
  }

  #set(uri: string, text: string, open: boolean): void {
    this.#sources.set(uri, { text, open, revision: ++this.#revision });
    this.#includes.set(
      uri,
      includedBy(uri, text, () => atOnce(this.#read(uri, text))),
    );
  }

  /** An open file is read anew only where it was edited. */
  readonly #read = (uri: string, text: string): InSteps<Tree> => {
    if (!this.isOpen(uri)) return parseInSteps(text);
    let reader = this.#readers.get(uri);
    if (!reader) {
      reader = new Reader();
      this.#readers.set(uri, reader);
    }
    return reader.readInSteps(text);
  };

  text(uri: string): string | undefined {
    return this.#sources.get(uri)?.text;
  }

  isOpen(uri: string): boolean {
    return this.#sources.get(uri)?.open === true;
  }

  get openUris(): string[] {
    return [...this.#sources].filter(([, source]) => source.open).map(([uri]) => uri);
  }

  get knownUris(): string[] {
    return [...this.#sources.keys()].sort();
  }

  /** Amplifiers whose text brings this file in; the file itself where there is none. */
  rootsOf(uri: string): string[] {
    const seen = new Set([uri]);
    const roots = new Set<string>();
    const climb = (file: string) => {
      let above = false;
      for (const [other, files] of this.#includes) {
        if (other === file || !files.includes(file)) continue;
        above = true;
        if (seen.has(other)) continue;
        seen.add(other);
        climb(other);
      }
      if (!above) roots.add(file);
    };
    climb(uri);
    return roots.size === 0 ? [uri] : [...roots].sort();
  }

  /** Files that a text reaches through includes, itself first. */
  #reach(uri: string): string[] {
    const reached = new Set<string>();
    const walk = (file: string) => {
      if (reached.has(file)) return;
      reached.add(file);
      for (const next of this.#includes.get(file) ?? []) walk(next);
    };
    walk(uri);
    return [...reached];
  }

  /** Changes whenever anything that a check of this file reads has changed. */
  stamp(uri: string): number {
    return Math.max(0, ...this.#reach(uri).map((file) => this.#sources.get(file)?.revision ?? 0));
  }

  async #loadIncludes(uri: string): Promise<void> {
    for (let found = true; found; ) {
      found = false;
      for (const file of this.#reach(uri)) {
        if (this.#sources.has(file)) continue;
        const text = await this.host.readText(file);
        if (text === undefined || this.#sources.has(file)) continue;
        this.#set(file, text, false);
        found = true;
      }
    }
  }

  /**
   * The newest check of one amplifier. A newer text makes the running one give up.
   * @returns undefined when cancelled, superseded, closed, or when there is no such text
   */
  async check(uri: string, token?: CancellationToken): Promise<CheckResult | undefined> {
    return (await this.#checked(uri, token))?.result;
  }

  async #checked(uri: string, token?: CancellationToken): Promise<Checked | undefined> {
    await this.#loadIncludes(uri);
    const options = await this.optionsFor(uri);
    const source = this.#sources.get(uri);
    if (source === undefined || token?.isCancellationRequested) return undefined;
    const stamp = this.stamp(uri);
    const known = this.#checks.get(uri);
    if (known?.stamp === stamp) return known;
    const running = this.#running.get(uri);
    if (running?.stamp === stamp) return running.promise;
    const promise = this.#run(uri, source.text, options, stamp);
    this.#running.set(uri, { stamp, promise });
    try {
      return await promise;
    } finally {
      if (this.#running.get(uri)?.promise === promise) this.#running.delete(uri);
    }
  }

  async #run(uri: string, text: string, options: CheckOptions, stamp: number): Promise<Checked | undefined> {
    const begun = this.host.now();
    const steps = checkSteps(uri, text.length > LARGEST_TEXT ? "" : text, {
      ...options,
      today: this.host.today(),
      readInclude: (file) => this.#sources.get(file)?.text,
      previous: this.#checks.get(uri)?.result,
      earlier: this.#earlier,
      readTree: this.#read,
    });
    const result = await this.#inTurns(steps, () => this.stamp(uri) === stamp && this.#sources.has(uri));
    if (!result) return undefined;
    const checked = { result, document: new Map(), stamp, milliseconds: this.host.now() - begun };
    if (this.stamp(uri) === stamp) {
      this.#checks.set(uri, checked);
      this.#ahead.clear();
    }
    return checked;
  }

  /** Long work, others having their turn in between. @returns undefined where it is wanted no more */
  async #inTurns<T>(work: InSteps<T>, isWanted: () => boolean): Promise<T | undefined> {
    let turn = this.host.now();
    for (;;) {
      const step = work.next();
      if (step.done) return step.value;
      if (this.host.now() - turn < TURN) continue;
      await this.host.pause();
      turn = this.host.now();
      if (!isWanted()) return undefined;
    }
  }

  /** What the last check of this amplifier cost, for the delay of pushed findings. */
  costOf(uri: string): number {
    return this.#checks.get(this.rootsOf(uri)[0])?.milliseconds ?? 0;
  }

  /** The document as its (first) amplifier's newest check sees it, or as that of a given one does. */
  async document(
    uri: string,
    token?: CancellationToken,
    root = this.rootsOf(uri)[0],
  ): Promise<CheckedDocument | undefined> {
    const checked = await this.#checked(root, token);
    return checked && this.#seen(checked, uri);
  }

  /**
   * For requests that must not wait for a long check: the newest text and names, with the numbers of the last check
   * that finished. Waits only where there has been none.
   */
  async prompt(uri: string, token?: CancellationToken): Promise<CheckedDocument | undefined> {
    const root = this.rootsOf(uri)[0];
    const known = this.#checks.get(root);
    const text = this.text(uri);
    if (known === undefined || text === undefined || known.milliseconds < 2 * TURN)
      return this.document(uri, token);
    const seen = this.#seen(known, uri);
    if (seen === undefined || seen.text === text) return seen;
    // Several requests come for each text: it is read once for all of them.
    let ahead = this.#ahead.get(uri);
    if (ahead?.text !== text || ahead.known !== known) {
      ahead = { known, text, document: this.#readAhead(uri, text, known) };
      this.#ahead.set(uri, ahead);
    }
    // Another text has come meanwhile, or the check of this one.
    return (await ahead.document) ?? (token?.isCancellationRequested ? undefined : this.prompt(uri, token));
  }

  async #readAhead(uri: string, text: string, known: Checked): Promise<CheckedDocument | undefined> {
    const tree = await this.#inTurns(this.#read(uri, text), () => this.text(uri) === text);
    if (!tree) return undefined;
    const sources = new Map(known.result.sources).set(uri, { text, tree });
    return checkedDocument({ ...known.result, sources }, uri);
  }

  #seen(checked: Checked, uri: string): CheckedDocument | undefined {
    if (!checked.result.sources.has(uri)) return undefined;
    let document = checked.document.get(uri);
    if (document === undefined) {
      document = checkedDocument(checked.result, uri);
      checked.document.set(uri, document);
    }
    return document;
  }
}

function includedBy(uri: string, text: string, read: () => Tree): readonly string[] {
  // A quick look first: hardly any text includes another, and parsing twice would cost every keystroke.
  if (!/^[ \t]*include\b/m.test(text) || text.length > LARGEST_TEXT) return [];
  return read()
    .statements.filter(
      (statement): statement is Extract<Statement, { node: "include" }> => statement.node === "include",
    )
    .map((statement) => resolveUri(uri, statement.file.text))
    .filter((found): found is string => found !== undefined);
}
