/** Syntax tree to circuit: one function, no exception for any text. */
import { didYouMean } from "../../../grammar/near.ts";
import type { BodyItem, Tree } from "../../../grammar/tree.ts";
import { readConditions } from "./conditions.ts";
import { expand, type Placed } from "./expand.ts";
import { FactReader } from "./fact-reader.ts";
import { baseOf, type Draft, type DraftRow } from "./kind.ts";
import { kindDefinitions } from "./kinds/index.ts";
import { gatherValve, type ValvePiece } from "./kinds/valve.ts";
import { readMeasurement, readWaiver } from "./measure.ts";
import type { Circuit, CircuitProblem, Measurement, NetIndex, Part, Place, ValveSection, Waiver } from "../model.ts";
import { NetNames, type PlacedPart, placedParts, terminalName } from "./names.ts";

export interface Built {
  readonly circuit: Circuit;
  readonly sources: ReadonlyMap<string, { readonly text: string; readonly tree: Tree }>;
}

/**
 * @param file key of the text; files that it includes are looked for beside it
 * @param read text of an included file by key; undefined where there is none
 */
export function buildCircuit(file: string, text: string, tree: Tree, read?: (file: string) => string | undefined): Built {
  const expansion = expand(file, text, tree, read);
  const problems: CircuitProblem[] = [...expansion.problems];
  const placed = placedParts(expansion.statements);
  const names = new NetNames(placed);
  for (const { reference, definition } of placed) names.define(reference, definition);

  const parts: Part[] = [];
  const byReference = new Map<string, Part>();
  const pieces = new Map<string, ValvePiece[]>();
  const firstPlaces = new Map<string, Place>();
  const order: (PlacedPart | string)[] = [];
  for (const part of placed) {
    if (part.definition?.kind === "valve") {
      const found = pieces.get(part.reference);
      const piece = valvePiece(part, names, problems);
      if (found) {
        if (clashes(found, piece)) tellTwice(part, piece.base.referencePlace);
        else found.push(piece);
      } else if (firstPlaces.has(part.reference)) tellTwice(part, piece.base.referencePlace);
      else {
        pieces.set(part.reference, [piece]);
        order.push(part.reference);
        firstPlaces.set(part.reference, piece.base.referencePlace);
      }
      continue;
    }
    const draft = draftOf(part, names, problems);
    if (firstPlaces.has(part.reference)) {
      tellTwice(part, draft.referencePlace);
      continue;
    }
    firstPlaces.set(part.reference, draft.referencePlace);
    const made = part.definition?.build(draft);
    if (made) keep(made);
  }
  for (const reference of order) {
    if (typeof reference !== "string") continue;
    const found = pieces.get(reference);
    if (found) keep(gatherValve(reference, found, (rule, message, place, on) => problems.push({ rule, message, place, on })));
  }

  function keep(part: Part): void {
    parts.push(part);
    byReference.set(part.reference, part);
  }
  function tellTwice(part: PlacedPart, place: Place): void {
    const first = firstPlaces.get(part.reference);
    problems.push({
      rule: "circuit/duplicate-reference",
      message: `${part.reference} is used twice; the first one counts.`,
      place,
      on: [part.reference],
      ...(first ? { related: [{ message: `${part.reference} stands here first`, place: first, on: part.reference }] } : {}),
    });
  }

  for (const { name, place } of expansion.argumentPlaces) {
    // A section or part that is passed is no net.
    if (!byReference.has(name) && !isSection(name, byReference)) names.mention(name, place);
  }
  attachAliases(names, parts, byReference);

  const metals: { net: NetIndex; place: Place }[] = [];
  const measurements: Measurement[] = [];
  const waivers: Waiver[] = [];
  let name: string | undefined;
  let ampPlace: Place | undefined;
  const mains: { statement: Extract<Placed["statement"], { node: "mains" }>; file: string }[] = [];
  const assumes: { statement: Extract<Placed["statement"], { node: "assume" }>; file: string }[] = [];
  for (const { statement, file: inFile, scope } of expansion.statements) {
    if (statement.node === "amp") {
      if (ampPlace !== undefined)
        problems.push({ rule: "circuit/duplicate-reference", message: "One file describes one amplifier: amp is written twice.", place: { file: inFile, range: statement.range }, on: [] });
      name ??= statement.name.text;
      ampPlace ??= { file: inFile, range: statement.range };
    } else if (statement.node === "mains") mains.push({ statement, file: inFile });
    else if (statement.node === "assume") assumes.push({ statement, file: inFile });
    else if (statement.node === "metal")
      metals.push({ net: names.net(statement.net, scope, inFile), place: { file: inFile, range: statement.range } });
    else if (statement.node === "waive") waivers.push(readWaiver(statement, inFile, scope, problems));
  }
  for (const { statement, file: inFile, scope } of expansion.statements) {
    if (statement.node !== "measured") continue;
    const measurement = readMeasurement(statement, inFile, scope, names, byReference, problems);
    if (measurement) measurements.push(measurement);
  }
  const conditions = readConditions(mains, assumes, problems);

  const ground = names.byName.get("gnd");
  const chassis = names.byName.get("chassis");
  const circuit: Circuit = {
    ...(name === undefined ? {} : { name }),
    ...(ampPlace ? { ampPlace } : {}),
    ...conditions,
    nets: names.nets,
    netByName: names.byName,
    ...(ground === undefined ? {} : { ground }),
    ...(chassis === undefined ? {} : { chassis }),
    metals,
    parts,
    partByReference: byReference,
    measurements,
    waivers,
    problems,
    files: [...expansion.sources.keys()],
  };
  return { circuit, sources: expansion.sources };
}

function isSection(name: string, parts: ReadonlyMap<string, Part>): boolean {
  const dot = name.lastIndexOf(".");
  const part = dot < 0 ? undefined : parts.get(name.slice(0, dot));
  return part?.kind === "valve" && part.sections.some((section) => section.name === name.slice(dot + 1));
}

function clashes(found: readonly ValvePiece[], piece: ValvePiece): boolean {
  if (piece.sections.length === 0 || piece.typeWritten === undefined) return false;
  return found.some((other) => other.sections.some((one) => piece.sections.some((two) => one.name === two.name && [...one.electrodes.keys()].some((electrode) => two.electrodes.has(electrode)))));
}

const subjectOf = (part: PlacedPart) =>
  part.unnamed ? `this ${part.statement.kind.text}` : `${part.statement.kind.text} ${part.reference}`;

function draftOf(part: PlacedPart, names: NetNames, problems: CircuitProblem[]): Draft {
  const { statement, definition, file, scope } = part;
  const subject = subjectOf(part);
  const terminals = new Map<string, { net: NetIndex; place: Place; facts: Draft["rawFacts"] }>();
  const rows: DraftRow[] = [];
  const say = (rule: string, message: string, place: Place, on: readonly string[] = [part.reference]) => problems.push({ rule, message, place, on });
  if (part.pathNets && definition) {
    if (definition.path.length < 2)
      say("circuit/syntax", `A ${statement.kind.text} has no place in a path: write it with a block of its terminals.`, { file, range: statement.kind.range });
    else
      definition.path.forEach((terminal, index) => {
        const word = part.pathNets?.[index];
        if (word) terminals.set(terminal, { net: names.net(word, scope, file), place: { file, range: word.range }, facts: [] });
      });
  }
  for (const item of "body" in statement ? (statement.body?.items ?? []) : []) readItem(item);

  function readItem(item: BodyItem): void {
    if (item.node === "row") {
      if (definition?.rows === undefined)
        return void say("circuit/unknown-terminal", `${subject} has no blocks inside; its terminals are written as name: net.`, { file, range: item.name.range });
      const inner = new Map<string, { net: NetIndex; place: Place }>();
      for (const terminal of item.terminals) {
        const word = terminal.nets[0];
        if (word) inner.set(terminalName(definition, terminal.terminal.text), { net: names.net(word, scope, file), place: { file, range: word.range } });
      }
      rows.push({
        item,
        place: { file, range: item.range },
        namePlace: { file, range: item.name.range },
        nets: item.nets.map((word) => names.net(word, scope, file)),
        netPlaces: item.nets.map((word) => ({ file, range: word.range })),
        terminals: inner,
      });
      return;
    }
    const terminal = terminalName(definition, item.terminal.text);
    const known = definition?.terminals;
    if (known !== undefined && known !== "any" && !known.includes(terminal))
      return void say("circuit/unknown-terminal", `${subject} has no terminal called ${item.terminal.text}.${didYouMean(item.terminal.text, known)} It has ${known.join(", ")}.`, { file, range: item.terminal.range });
    const word = item.nets[0];
    if (word === undefined) return;
    if (terminals.has(terminal))
      return void say("circuit/duplicate-reference", `${subject}: its ${terminal} is written twice; the first counts.`, { file, range: item.terminal.range });
    if (item.nets.length > 1)
      say("circuit/syntax", `One terminal sits on one net: ${item.terminal.text} names ${item.nets.map(({ text }) => text).join(" and ")}.`, { file, range: item.nets[1].range });
    terminals.set(terminal, { net: names.net(word, scope, file), place: { file, range: word.range }, facts: item.facts });
  }

  const place: Place = { file, range: statement.range };
  const reader = new FactReader(statement.facts, file, subject, part.reference, problems);
  return {
    kind: statement.kind.text,
    reference: part.reference,
    unnamed: part.unnamed,
    place,
    referencePlace: { file, range: (statement.reference ?? statement.kind).range },
    file,
    facts: reader,
    rawFacts: statement.facts,
    terminals,
    rows,
    problem: say,
    reader: (facts, what) => new FactReader(facts, file, what, part.reference, problems),
    problems,
  };
}

function valvePiece(part: PlacedPart, names: NetNames, problems: CircuitProblem[]): ValvePiece {
  const { statement, definition, file, scope } = part;
  const subject = subjectOf(part);
  const say = (rule: string, message: string, place: Place) => problems.push({ rule, message, place, on: [part.reference] });
  const sections: ValveSection[] = [];
  let heater: ValvePiece["heater"];
  const own = { electrodes: new Map<string, NetIndex>(), places: new Map<string, Place>() };
  if (part.pathNets) say("circuit/syntax", "A valve has no place in a path: write it with a block of its electrodes.", { file, range: statement.kind.range });

  const put = (into: typeof own, item: Extract<BodyItem, { node: "terminal" }>, sectionName: string) => {
    const electrode = terminalName(definition, item.terminal.text);
    const word = item.nets[0];
    if (word === undefined) return;
    if (electrode === "heater") {
      if (item.nets.length !== 2)
        return void say("circuit/syntax", `${subject}: a heater has two ends, such as heater: h1 h2.`, { file, range: item.range });
      const wiring = item.facts.map(({ text }) => text).find((text) => text === "series" || text === "parallel");
      for (const fact of item.facts)
        if (fact.text !== "series" && fact.text !== "parallel")
          say("circuit/unknown-fact", `${fact.text}: a heater is wired in series or parallel.`, { file, range: fact.range });
      heater = {
        nets: [names.net(item.nets[0], scope, file), names.net(item.nets[1], scope, file)],
        ...(wiring === "series" || wiring === "parallel" ? { wiring } : {}),
        place: { file, range: item.range },
      };
      return;
    }
    const known = definition?.terminals;
    if (known !== undefined && known !== "any" && !known.includes(electrode))
      return void say("circuit/unknown-terminal", `${subject} has no electrode called ${item.terminal.text}.${didYouMean(item.terminal.text, known)}`, { file, range: item.terminal.range });
    if (into.electrodes.has(electrode))
      return void say("circuit/duplicate-reference", `${subject}${sectionName ? `, section ${sectionName}` : ""}: its ${electrode} is written twice; the first counts.`, { file, range: item.terminal.range });
    if (item.nets.length > 1) say("circuit/syntax", `One electrode sits on one net: ${item.terminal.text} names ${item.nets.map(({ text }) => text).join(" and ")}.`, { file, range: item.nets[1].range });
    into.electrodes.set(electrode, names.net(word, scope, file));
    into.places.set(electrode, { file, range: word.range });
  };

  for (const item of "body" in statement ? (statement.body?.items ?? []) : []) {
    if (item.node === "terminal") put(own, item, part.section ?? "");
    else {
      const into = { electrodes: new Map<string, NetIndex>(), places: new Map<string, Place>() };
      for (const terminal of item.terminals) put(into, terminal, item.name.text);
      sections.push({ name: item.name.text, electrodes: into.electrodes, electrodePlaces: into.places, place: { file, range: item.range } });
    }
  }
  if (own.electrodes.size > 0)
    sections.push({ name: part.section ?? "", electrodes: own.electrodes, electrodePlaces: own.places, place: { file, range: statement.range } });

  const facts = new FactReader(statement.facts, file, subject, part.reference, problems);
  const typed = facts.take("type", (fact) => fact.label === undefined);
  facts.finish([]);
  const draft: Pick<Draft, "unnamed" | "place" | "referencePlace" | "terminals" | "facts" | "reference"> = {
    reference: part.reference,
    unnamed: part.unnamed,
    place: { file, range: statement.range },
    referencePlace: { file, range: (statement.reference ?? statement.kind).range },
    terminals: new Map(),
    facts,
  };
  return {
    reference: part.reference,
    base: baseOf(draft as Draft),
    ...(typed ? { typeWritten: typed.text, typePlace: facts.place(typed) } : {}),
    sections,
    ...(heater ? { heater } : {}),
  };
}

/** A terminal that only a path names (`R5 -- V1.a.plate`) belongs to its part all the same. */
function attachAliases(names: NetNames, parts: Part[], byReference: Map<string, Part>): void {
  for (const [reference, terminal, net] of [...names.aliasTerminals()]) {
    const part = byReference.get(reference);
    if (part === undefined || part.terminals.has(terminal)) continue;
    const terminals = new Map(part.terminals).set(terminal, net);
    let changed: Part = { ...part, terminals };
    if (part.kind === "valve") {
      const [section, electrode] = terminal.includes(".") ? terminal.split(".") : ["", terminal];
      const known = part.sections.some((one) => one.name === section);
      const grown = known
        ? part.sections.map((one) => (one.name === section ? { ...one, electrodes: new Map(one.electrodes).set(electrode, net) } : one))
        : [...part.sections, { name: section, electrodes: new Map([[electrode, net]]), electrodePlaces: new Map(), place: part.place }];
      changed = { ...part, terminals, sections: grown };
    }
    parts[parts.indexOf(part)] = changed;
    byReference.set(reference, changed);
  }
}

export { kindDefinitions };
