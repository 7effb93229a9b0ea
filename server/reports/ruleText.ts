/** The catalogue and one rule's page for a terminal. */
import type { Rule } from "../rules/rule.ts";
import type { Style } from "./style.ts";
import { wrap } from "./wrap.ts";

export interface PageOptions {
  readonly style: Style;
  readonly width: number;
}

/** One rule: what a technician would say, why, where the figure is from, when it is quiet, both examples. */
export function rulePage(rule: Rule, { style, width }: PageOptions): string {
  const paint = rule.severity === "unchecked" ? style.faint : style[rule.severity];
  const part = (title: string, text: string) => [style.strong(title), ...wrap(text, width, "  "), ""];
  const example = (title: string, text: string) => [
    style.strong(title),
    ...text
      .trim()
      .split("\n")
      .map((line) => `  ${line}`.trimEnd()),
    "",
  ];
  return [
    `${style.strong(rule.id)}  ${paint(rule.severity)}`,
    "",
    ...wrap(rule.sentence, width, "  "),
    "",
    ...part("Why", rule.why),
    ...part("Source", rule.source),
    ...part("When it stays quiet", rule.quiet),
    ...(rule.caution ? part("Caution", rule.caution) : []),
    ...example("A file that breaches it", rule.bad),
    ...example("The same, put right", rule.good),
  ].join("\n");
}

/** Every rule, family by family, one row each. */
export function ruleList(rules: readonly Rule[], { style, width }: PageOptions): string {
  const lines: string[] = [];
  let family = "";
  const long = Math.max(...rules.map(({ id }) => id.length));
  for (const rule of rules) {
    const own = rule.id.split("/")[0];
    if (own !== family) {
      if (family !== "") lines.push("");
      lines.push(style.strong(own));
      family = own;
    }
    const lead = `  ${rule.id.padEnd(long)}  ${rule.severity.padEnd(9)}  `;
    const words = wrap(rule.sentence, Math.max(width, lead.length + 30), " ".repeat(lead.length));
    lines.push(lead + (words[0] ?? "").trimStart(), ...words.slice(1));
  }
  lines.push("", `${rules.length} rules; "derate explain RULE" tells one whole.`);
  return `${lines.join("\n")}\n`;
}

/** What programs need of the catalogue. */
export function ruleData(rule: Rule) {
  const { id, severity, sentence, why, source, quiet, caution, bad, good } = rule;
  return {
    id,
    family: id.split("/")[0],
    severity,
    sentence,
    why,
    source,
    quiet,
    caution: caution ?? null,
    bad,
    good,
  };
}
