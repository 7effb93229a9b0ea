/** Keywords, kinds, terminals and fact words. */

import { meaningOf } from "../../circuit/kinds/index.ts";
import { MAINS_CAUTION } from "../cautions.ts";
import { kindHelp } from "../kinds.ts";
import type { Occurrence } from "../occurrences.ts";
import { STATEMENTS, WORDS } from "../words.ts";

const asSentence = (text: string) =>
  `${text[0].toUpperCase()}${text.slice(1)}${text.endsWith(".") ? "" : "."}`;

const MAINS_WORDS = new Set([
  "mains",
  "active",
  "neutral",
  "earth",
  "cord",
  "inlet",
  "fuse",
  "bond",
  "own-fixing",
  "shared-fixing",
]);

export function hoverWord(occurrence: Occurrence): string | undefined {
  const text = helpFor(occurrence);
  if (text === undefined) return undefined;
  return MAINS_WORDS.has(occurrence.text) ? `${text}\n\n${MAINS_CAUTION}` : text;
}

function helpFor({ role, text, kind = "" }: Occurrence): string | undefined {
  if (role === "keyword") {
    const help = STATEMENTS.find(({ word }) => word === text);
    return help && `**${help.word}** · ${help.text}\n\n\`\`\`ampnet\n${help.example}\n\`\`\``;
  }
  if (role === "kind") return kindHelp(text);
  // `plate1` is a plate.
  const meaning = WORDS[text] ?? meaningOf(kind, text) ?? WORDS[text.replace(/\d$/, "")];
  return meaning && `**${text}** · ${asSentence(meaning)}`;
}
