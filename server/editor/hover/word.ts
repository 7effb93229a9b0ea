/** Keywords, kinds, terminals and fact words. */

import { MAINS_CAUTION } from "../cautions.ts";
import { kindHelp } from "../kinds.ts";
import type { Occurrence } from "../occurrences.ts";
import { STATEMENTS, WORDS } from "../words.ts";

const MAINS_WORDS = new Set([
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

function helpFor({ role, text }: Occurrence): string | undefined {
  if (role === "keyword") {
    const help = STATEMENTS.find(({ word }) => word === text);
    return help && `**${help.word}** · ${help.text}\n\n\`\`\`ampnet\n${help.example}\n\`\`\``;
  }
  if (role === "kind") return kindHelp(text);
  return WORDS[text] === undefined ? undefined : `**${text}** · ${WORDS[text]}`;
}
