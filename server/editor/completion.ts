/** What could be written at the cursor, by the place it stands in. */
import type { CompletionItem, Position } from "vscode-languageserver-types";
import { exampleReference, kinds, unnamedKinds } from "../../grammar/names.ts";
import { fuseSeries } from "../facts/mains.ts";
import { e12, electrolyticVolts, filmVolts, standardWatts } from "../facts/passives.ts";
import { regions } from "../facts/regions.ts";
import { bookOf } from "../facts/valves/book.ts";
import { sectionMeant } from "../facts/valves/sections.ts";
import { ruleById } from "../rules/index.ts";
import { type CheckedDocument, toOffset } from "./document.ts";
import { allKinds, kindHelp, kindInfo } from "./kinds.ts";
import { STATEMENTS } from "./words.ts";

// The protocol's numbers for kinds of item.
const KEYWORD = 14;
const TYPE = 7;
const PROPERTY = 10;
const VARIABLE = 6;
const VALUE = 12;
const ENUM = 20;
const SNIPPET = 15;
const FUNCTION = 3;
const SNIPPET_FORMAT = 2;

interface Data {
  readonly kind?: string;
  readonly valve?: string;
  readonly rule?: string;
}

export function completion(document: CheckedDocument, position: Position): CompletionItem[] {
  const offset = toOffset(document, position);
  const lineStart = document.tree.lineStarts[position.line] ?? 0;
  const before = document.text.slice(lineStart, offset);
  if (/(^|\s)#/.test(before) || (before.match(/"/g)?.length ?? 0) % 2 === 1) return [];
  const line = before.replace(/[^\s,:{}()]*$/, "");

  if (/^\s*waive\s+$/.test(line)) return rules();
  if (/^\s*waive\s+\S+\s+on\s+$/.test(line)) return [...references(document), ...nets(document)];
  if (/^\s*measured\s+(across\s+)?$/.test(line)) return [...nets(document), ...references(document)];
  if (/^\s*mains\b/.test(line)) return regionItems(!/\d/.test(line));
  if (/^\s*assume\s+$/.test(line)) return assumptions();
  if (/^\s*use\s+$/.test(line)) return blocks(document);

  const inBody = openBody(document.text.slice(0, offset));
  if (inBody !== undefined) return insideBody(document, inBody, line);

  const piece = line.slice(Math.max(0, line.lastIndexOf("--")));
  const inPath = line.includes("--");
  if (inPath && /^--\s*$/.test(piece)) {
    // After a net comes a part; after a part, a net.
    return partsAndNets(line) === "part" ? kindItems(document, true) : nets(document);
  }
  const part = piece.replace(/^--\s*/, "").trim();
  const [kind, reference] = part.split(/\s+/);
  if (kind && kinds.includes(kind)) {
    if (reference === undefined) return nextReference(document, kind);
    return unwritten(factItems(document, kind), part);
  }
  if (part === "" && !inPath) return [...statements(), ...kindItems(document, false), ...nets(document)];
  return [];
}

/** Details that are only worth their cost for the item looked at. */
export function resolveCompletion(item: CompletionItem): CompletionItem {
  const data = item.data as Data | undefined;
  if (data?.kind) return { ...item, documentation: { kind: "markdown", value: kindHelp(data.kind) ?? "" } };
  if (data?.valve) return { ...item, documentation: item.detail ?? "" };
  if (data?.rule) {
    const rule = ruleById.get(data.rule);
    return { ...item, documentation: rule ? `${rule.sentence} ${rule.why}` : "" };
  }
  return item;
}

/** Whether the dashes at the line's end follow a net (a part comes) or a part (a net comes). */
function partsAndNets(line: string): "part" | "net" {
  const pieces = line
    .split("--")
    .slice(0, -1)
    .map((piece) => piece.trim());
  const last = pieces[pieces.length - 1] ?? "";
  return kinds.includes(last.split(/\s+/)[0]) ? "net" : "part";
}

interface Body {
  readonly kind: string;
  readonly reference?: string;
  readonly typeWritten?: string;
  /** Name of the row whose braces are open inside the body. */
  readonly row?: string;
  /** What the innermost braces already hold. */
  readonly written: string;
}

function openBody(text: string): Body | undefined {
  const clean = text.replace(/#[^\r\n]*/g, (comment) => " ".repeat(comment.length));
  const stack: number[] = [];
  for (let index = 0; index < clean.length; index++) {
    if (clean[index] === "{") stack.push(index);
    else if (clean[index] === "}") stack.pop();
  }
  const outer = stack.map((at) => headOf(clean, at)).filter((head) => !/^\s*block\b/.test(head));
  if (outer.length === 0) return undefined;
  const words = outer[0].trim().split(/\s+/);
  const kind = words.find((word) => kinds.includes(word));
  if (kind === undefined) return undefined;
  const after = words.slice(words.indexOf(kind) + 1);
  return {
    kind,
    reference: after[0],
    typeWritten: after[1],
    row: outer.length > 1 ? outer[outer.length - 1].trim().split(/\s+/)[0] : undefined,
    written: clean.slice(stack[stack.length - 1] + 1),
  };
}

/** The words before a brace, back to the line's start or another brace. */
function headOf(text: string, brace: number): string {
  const start =
    Math.max(text.lastIndexOf("\n", brace), text.lastIndexOf("{", brace - 1), text.lastIndexOf("}", brace)) +
    1;
  return text.slice(start, brace);
}

function insideBody(document: CheckedDocument, body: Body, line: string): CompletionItem[] {
  if (/:\s*$/.test(line)) return nets(document);
  const isWinding = body.kind === "transformer" || body.kind === "output-transformer";
  if (isWinding && body.row !== undefined) return nets(document);
  // Behind a winding's name come its volts, which nobody can guess.
  if (isWinding) return /\S\s+$/.test(line.replace(/^.*[{}]/, "")) ? [] : windingNames(body.kind);
  const terminals =
    body.kind === "valve"
      ? electrodesOf(document, body)
      : body.kind === "switch"
        ? ["common", "on", "off"]
        : (kindInfo(body.kind)?.terminals ?? []);
  const free = terminals.filter((terminal) => !new RegExp(`(^|[\\s,{])${terminal}\\s*:`).test(body.written));
  const items: CompletionItem[] = free.map((terminal) => ({
    label: terminal,
    kind: PROPERTY,
    insertText: terminal === "heater" ? "heater: $1 $2" : `${terminal}: $1`,
    insertTextFormat: SNIPPET_FORMAT,
    sortText: `0${terminal}`,
  }));
  if (/:\s*[^\s,]+\s+$/.test(line)) return [...nets(document), ...factItems(document, body.kind)];
  return items;
}

function electrodesOf(document: CheckedDocument, body: Body): readonly string[] {
  const facts = body.typeWritten ? bookOf(document.result.circuit).find(body.typeWritten) : undefined;
  if (facts === undefined) return kindInfo("valve")?.terminals ?? [];
  const names = facts.sections.map(({ name }) => name);
  // In a block, or written apart: V1.pentode.
  const written = body.row ?? body.reference?.split(".").at(-1);
  const meant = written === undefined ? undefined : sectionMeant(names, written);
  const inSection = body.row !== undefined || (names.length > 1 && meant !== undefined);
  const section = facts.sections.find(({ name }) => name === meant) ?? facts.sections[0];
  if (facts.sections.length > 1 && !inSection) return [...names, "heater"];
  return body.row !== undefined ? section.electrodes : [...section.electrodes, "heater"];
}

function windingNames(kind: string): CompletionItem[] {
  const rows =
    kind === "transformer"
      ? [
          "primary ${1:230V} { ${2:live} ${3:neutral} }",
          "ht ${1:300-0-300V} ${2:120mA} { ${3:htA} gnd ${4:htB} }",
          "heater ${1:6.3V} ${2:4A} { ${3:h1} ${4:h2} }",
          "bias ${1:50V} ${2:20mA} { ${3:bA} gnd }",
        ]
      : ["plates ${1:8k} ${2:280R} { ${3:pA} ${4:HT1} ${5:pB} }", "speaker ${1:8R} { ${2:spk} gnd }"];
  return rows.map((insertText) => ({
    label: insertText.split(" ")[0],
    kind: SNIPPET,
    insertText,
    insertTextFormat: SNIPPET_FORMAT,
  }));
}

function statements(): CompletionItem[] {
  return STATEMENTS.map(({ word, text, example }) => ({
    label: word,
    kind: KEYWORD,
    detail: example,
    documentation: text,
  }));
}

function kindItems(document: CheckedDocument, inPath: boolean): CompletionItem[] {
  return allKinds()
    .filter(({ path }) => !inPath || path.length === 2)
    .map(({ kind, facts }) => {
      const reference = unnamedKinds.has(kind) ? "" : ` ${freeReference(document, kind)}`;
      const required = facts
        .filter((fact) => fact.required)
        .map(({ example }, index) => ` \${${index + 1}:${example}}`);
      return {
        label: kind,
        kind: TYPE,
        insertText: `${kind}${reference}${required.join("")}`,
        insertTextFormat: SNIPPET_FORMAT,
        data: { kind } satisfies Data,
      };
    });
}

/** The next number behind the letters that this kind is known by, in this amplifier. */
function freeReference(document: CheckedDocument, kind: string): string {
  const letters = (exampleReference[kind] ?? "X1").replace(/\d+$/, "");
  let highest = 0;
  for (const part of document.result.circuit.parts) {
    const match = /^([A-Za-z]+)(\d+)$/.exec(part.reference);
    if (match && match[1] === letters) highest = Math.max(highest, Number(match[2]));
  }
  return `${letters}${highest + 1}`;
}

function nextReference(document: CheckedDocument, kind: string): CompletionItem[] {
  return [
    { label: freeReference(document, kind), kind: VARIABLE, detail: "next free reference", preselect: true },
  ];
}

/** What a kind's facts are chosen from; behind that an example of each other fact, which tells how it is written. */
function factItems(document: CheckedDocument, kind: string): CompletionItem[] {
  const chosen = chosenFacts(document, kind);
  const measured = new Set(chosen.map(({ label }) => measure(label)));
  const others = (kindInfo(kind)?.facts ?? []).filter(
    ({ example, what }) => what !== "type" && !(measure(example) && measured.has(measure(example))),
  );
  return [
    ...chosen,
    ...others.map(
      ({ example, what }): CompletionItem => ({
        label: example,
        kind: VALUE,
        detail: `${what}, for instance`,
        sortText: `3${example}`,
      }),
    ),
  ];
}

function chosenFacts(document: CheckedDocument, kind: string): CompletionItem[] {
  const book = bookOf(document.result.circuit);
  const values = (labels: readonly string[], detail: string): CompletionItem[] =>
    labels.map((label, index) => ({
      label,
      kind: VALUE,
      detail,
      sortText: `1${String(index).padStart(3, "0")}`,
    }));
  const words = (kindInfo(kind)?.words ?? []).map(
    (label): CompletionItem => ({ label, kind: ENUM, sortText: `2${label}` }),
  );
  switch (kind) {
    case "valve":
      return book.names().map((label) => ({
        label,
        kind: ENUM,
        detail: book.find(label)?.summary,
        data: { valve: label } satisfies Data,
      }));
    case "diode":
    case "bridge":
      return [...book.semiconductorNames().map((label): CompletionItem => ({ label, kind: ENUM })), ...words];
    case "resistor":
    case "pot":
      return [
        ...values(decades(e12, ["", "k", "M"]), "E12"),
        ...values(
          standardWatts.map((watts) => `${watts}W`),
          "standard wattage",
        ),
        ...words,
      ];
    case "capacitor":
      return [
        ...values(decades(e12, ["p", "n", "u"]), "E12"),
        ...values(
          [...new Set([...filmVolts, ...electrolyticVolts])]
            .sort((one, other) => one - other)
            .map((volts) => `${volts}V`),
          "standard voltage",
        ),
        ...words,
      ];
    case "fuse":
      return [
        ...values(
          fuseSeries.map((amps) => `T${amps < 1 ? `${Number((amps * 1000).toPrecision(4))}mA` : `${amps}A`}`),
          "IEC 60127",
        ),
        ...words,
      ];
    case "switch":
      return [...duties(), ...words];
    default:
      return words;
  }
}

/** What a switch does in the states that every amplifier is checked in; any other name is one of its own. */
function duties(): CompletionItem[] {
  return [
    ["mains", "on in every state"],
    ["standby", "off in standby alone"],
  ].map(([label, detail]) => ({ label, kind: ENUM, detail, sortText: `0${label}` }));
}

const OHMS_OR_FARADS = /^[\d.]+([RkMpnuµ]\d*|ohms?|[kM]?[Ωo]|[pnuµm]F)?$/i;
/** What a fact measures, by how it ends; undefined for a word, and for what has its own word before it. */
function measure(fact: string): string | undefined {
  const [, unit] = /^[TFM]*[\d.]+[kKmM]?(VAC|V|A|W|H|%|mm2|mm)\d*$/.exec(fact) ?? [];
  return unit ?? (OHMS_OR_FARADS.test(fact) ? "value" : undefined);
}

/** A part has one value, one rated power and one rated voltage: what stands there already is not offered again. */
function unwritten(items: CompletionItem[], part: string): CompletionItem[] {
  const facts = part.split(/\s+/).slice(2);
  const measures = new Set(facts.map(measure).filter((one) => one !== undefined));
  const offered = items.filter(({ label }) => {
    const own = measure(label);
    return own === undefined ? !facts.includes(label.split(" ")[0]) : !measures.has(own);
  });
  // The value comes first, as on a parts list; what it can stand, behind it.
  return offered.map((item) =>
    measure(item.label) === "value" ? { ...item, sortText: `0${item.sortText}` } : item,
  );
}

/** `4k7` for each value, decade and letter. */
function decades(series: readonly number[], letters: readonly string[]): string[] {
  return letters.flatMap((letter) =>
    [1, 10, 100].flatMap((decade) =>
      series.map((value) => {
        const number = Number((value * decade).toPrecision(3));
        const text = String(number);
        return text.includes(".")
          ? text.replace(".", letter === "" ? "R" : letter)
          : `${text}${letter === "" ? "R" : letter}`;
      }),
    ),
  );
}

function nets(document: CheckedDocument): CompletionItem[] {
  return document.result.circuit.nets.map(({ name, mentions }) => ({
    label: name,
    kind: VARIABLE,
    detail: `net, named ${mentions.length} ${mentions.length === 1 ? "time" : "times"}`,
    sortText: `0${name}`,
  }));
}

function references(document: CheckedDocument): CompletionItem[] {
  return document.result.circuit.parts
    .filter(({ unnamed }) => !unnamed)
    .map(({ reference, kind }) => ({ label: reference, kind: VARIABLE, detail: kind }));
}

function rules(): CompletionItem[] {
  return [...ruleById.values()].map(({ id, sentence }) => ({
    label: id,
    kind: ENUM,
    detail: sentence,
    data: { rule: id } satisfies Data,
  }));
}

/** @param whole with the volts and hertz that are usual there, where none are written yet */
function regionItems(whole: boolean): CompletionItem[] {
  return Object.entries(regions).map(([name, { volts, hertz, source }]) => ({
    label: whole ? `${volts} V ${hertz} Hz ${name}` : name,
    kind: ENUM,
    detail: source,
  }));
}

function assumptions(): CompletionItem[] {
  return [
    "ambient ${1:50C}",
    "mains ${1:+10%} ${2:-6%}",
    "derate ${1:resistor} ${2:50%}",
    "valve-spread ${1:15%}",
    "outlet unpolarised",
  ].map((insertText) => ({
    label: insertText.split(" ")[0],
    kind: SNIPPET,
    insertText,
    insertTextFormat: SNIPPET_FORMAT,
  }));
}

function blocks(document: CheckedDocument): CompletionItem[] {
  return document.tree.statements
    .filter((statement) => statement.node === "block")
    .map(({ name, parameters }) => ({
      label: name.text,
      kind: FUNCTION,
      insertText: `${name.text}(${parameters.map(({ text }, index) => `\${${index + 1}:${text}}`).join(", ")}) as \${${parameters.length + 1}:N}`,
      insertTextFormat: SNIPPET_FORMAT,
    }));
}
