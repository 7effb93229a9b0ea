/** A rule's page as Markdown: what it means, why, from where, when it is quiet, and its two examples. */
import type { Finding, Rule } from "./rule.ts";

const SEVERITY: Readonly<Record<Rule["severity"], string>> = {
  error: "error: can hurt someone, or a published limit is passed",
  warning: "warning: past the margin that practice asks for, or against practice",
  advice: "advice: would be better otherwise",
  unchecked: "unchecked: a limit that could not be held against anything; silence is never a pass",
};

/** @param said what the bad example gives when it is checked */
export function rulePage(rule: Rule, said: readonly Finding[]): string {
  const own = said.filter((finding) => finding.rule === rule.id);
  const others = said.filter((finding) => finding.follows === rule.id);
  const blocks = [
    `# ${rule.id}`,
    rule.sentence,
    `*Severity: ${SEVERITY[rule.severity]}.*`,
    `## Why\n\n${rule.why}`,
    `## Where the limit comes from\n\n${rule.source}.`.replace(/\.\.$/, "."),
    `## When it is quiet\n\n${rule.quiet}`,
    rule.caution && `## Caution\n\n> ${rule.caution}`,
    rule.bad && `## Found\n\n${fenced(rule.bad)}`,
    own.length > 0 &&
      `which says:\n\n${own.map((finding) => `- ${finding.severity}: ${finding.message}`).join("\n")}`,
    others.length > 0 &&
      `and, led by it:\n\n${others.map((finding) => `- ${finding.rule}: ${finding.message}`).join("\n")}`,
    rule.good && `## Passed\n\n${fenced(rule.good)}`,
  ];
  return `${blocks.filter(Boolean).join("\n\n")}\n`;
}

const fenced = (text: string): string => `\`\`\`ampnet\n${text.trimEnd()}\n\`\`\``;

/** The list of all rules, family by family, each linked to its page. */
export function ruleIndex(rules: readonly Rule[], pageName: (id: string) => string): string {
  const families = [...new Set(rules.map((rule) => rule.id.split("/")[0]))];
  const blocks = families.map((family) => {
    const rows = rules
      .filter((rule) => rule.id.startsWith(`${family}/`))
      .map((rule) => `| [${rule.id}](${pageName(rule.id)}) | ${rule.severity} | ${rule.sentence} |`);
    return `## ${family}\n\n| rule | severity | what it says |\n| --- | --- | --- |\n${rows.join("\n")}`;
  });
  return `# Rules\n\nWhat is checked, and how grave it is. A clean report is not proof of safety: it is arithmetic on the netlist, not\nan inspection.\n\n${blocks.join("\n\n")}\n`;
}
