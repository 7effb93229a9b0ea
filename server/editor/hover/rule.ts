/** A rule's own page in short, without leaving the editor. */
import { ruleById } from "../../rules/index.ts";

export function hoverRule(id: string): string | undefined {
  const rule = ruleById.get(id);
  if (rule === undefined) return `No rule is called \`${id}\`.`;
  return [
    `**${rule.id}** · ${rule.severity}`,
    `**${rule.sentence}**`,
    rule.caution ? `_${rule.caution}_` : "",
    rule.why,
    rule.quiet,
    `Source: ${rule.source}`,
  ]
    .filter((line) => line !== "")
    .join("\n\n");
}
