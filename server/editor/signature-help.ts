/** The facts that a part of this kind takes, while they are being written. */
import type { Position, SignatureHelp } from "vscode-languageserver-types";
import { kinds } from "../../grammar/names.ts";
import { type CheckedDocument, toOffset } from "./document.ts";
import { kindInfo } from "./kinds.ts";

const KIND = new RegExp(
  `(?:^|--|\\s)\\s*(${[...kinds].sort((one, other) => other.length - one.length).join("|")})\\s+(\\S+)?(.*)$`,
);

/** @returns undefined outside the facts of a part */
export function signatureHelp(document: CheckedDocument, position: Position): SignatureHelp | undefined {
  const offset = toOffset(document, position);
  const start = document.tree.lineStarts[position.line] ?? 0;
  const before = document.text.slice(start, offset);
  if (before.includes("#")) return undefined;
  // The piece of path that the cursor stands in.
  const piece = before.slice(before.lastIndexOf("--") + 1 === 0 ? 0 : before.lastIndexOf("--"));
  const match = KIND.exec(piece);
  if (match === null || piece.includes("{")) return undefined;
  const info = kindInfo(match[1]);
  if (info === undefined) return undefined;
  const parameters = info.facts.map(({ example, what, required }) => ({
    label: example,
    documentation: `${what}${required ? "" : " (may be left out)"}`,
  }));
  const label = `${match[1]} ${match[2] ?? "REF"} ${parameters.map((parameter) => parameter.label).join(" ")}`;
  const written = (match[3] ?? "").trim().split(/\s+/).filter(Boolean).length;
  return {
    signatures: [{ label, documentation: info.help, parameters }],
    activeSignature: 0,
    activeParameter: Math.min(written, Math.max(0, parameters.length - 1)),
  };
}
