/**
 * Writes `docs/rules/`: a page per rule and the list of all. Run it after a rule has changed; a test holds the pages to
 * the rules. With `--check` nothing is written, and the exit status is 1 where a page is not up to date.
 */
import { mkdirSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { basename, join } from "node:path";
import { fileURLToPath } from "node:url";
import { check } from "../server/check.ts";
import { pageOf, rules } from "../server/rules/index.ts";
import { ruleIndex, rulePage } from "../server/rules/page.ts";

const root = fileURLToPath(new URL("..", import.meta.url));

/** File name under `docs/rules` -> text. */
export function rulePages(): ReadonlyMap<string, string> {
  const pages = new Map<string, string>();
  for (const rule of rules) {
    const said = rule.bad ? check("example.ampnet", rule.bad, { today: "2026-01-15" }).findings : [];
    pages.set(basename(pageOf(rule.id)), rulePage(rule, said));
  }
  pages.set(
    "README.md",
    ruleIndex(rules, (id) => basename(pageOf(id))),
  );
  return pages;
}

export const pagesFolder = join(root, "docs", "rules");

function main(): void {
  const pages = rulePages();
  const onlyCheck = process.argv.includes("--check");
  mkdirSync(pagesFolder, { recursive: true });
  const there = readdirSync(pagesFolder).filter((name) => name.endsWith(".md"));
  const stale = [
    ...there.filter((name) => !pages.has(name)),
    ...[...pages].flatMap(([name, text]) =>
      there.includes(name) && readFileSync(join(pagesFolder, name), "utf8") === text ? [] : [name],
    ),
  ];
  if (onlyCheck) {
    for (const name of stale) console.log(`not up to date: docs/rules/${name}`);
    process.exitCode = stale.length > 0 ? 1 : 0;
    return;
  }
  for (const name of there) if (!pages.has(name)) rmSync(join(pagesFolder, name));
  for (const [name, text] of pages) writeFileSync(join(pagesFolder, name), text);
  console.log(`${pages.size} pages, ${stale.length} of them new or changed`);
}

if (process.argv[1] && fileURLToPath(import.meta.url) === process.argv[1]) main();
