/** The pages under `docs/rules` are what the rules say now; `npm run rule-pages` writes them. */
import { existsSync, readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, it } from "vitest";
import { pagesFolder, rulePages } from "../../scripts/rule-pages.ts";
import { rules } from "../../server/rules/index.ts";

const pages = rulePages();

describe("rule pages", () => {
  it("are one per rule, and a list of all", () => {
    expect(pages.size).toBe(rules.length + 1);
    const list = pages.get("README.md") ?? "";
    for (const rule of rules) expect(list).toContain(`[${rule.id}](${rule.id.replace("/", "-")}.md)`);
  });

  it("carry the sentence, the source, when it is quiet, the examples, and the caution", () => {
    for (const rule of rules) {
      const page = pages.get(`${rule.id.replace("/", "-")}.md`) ?? "";
      for (const text of [rule.sentence, rule.why, rule.quiet, rule.good.trimEnd()])
        expect(page).toContain(text);
      if (rule.bad) expect(page).toContain(rule.bad.trimEnd());
      if (rule.caution) expect(page).toContain(`> ${rule.caution}`);
    }
  });

  it("show what the bad example gives", () => {
    expect(pages.get("mains-fuse-tip.md")).toContain("- error: active -> F1.ring");
  });

  it("never call a clean report safe", () => {
    expect(pages.get("README.md")).toContain("not proof of safety");
  });

  it("stand in the folder as they are generated", () => {
    expect(existsSync(pagesFolder)).toBe(true);
    expect(readdirSync(pagesFolder).sort()).toEqual([...pages.keys()].sort());
    // Words and examples only: the figures that the examples compute move with the physics, and are not held here.
    const still = (text: string) => text.replace(/which says:[\s\S]*?(?=\n## |$)/, "");
    for (const [name, text] of pages)
      expect(still(readFileSync(join(pagesFolder, name), "utf8")), name).toBe(still(text));
  });
});
