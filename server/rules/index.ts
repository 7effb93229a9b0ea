/** Every rule, family by family. A family's own index names its rules, one line each. */
import { rules as bench } from "./bench/index.ts";
import { rules as circuit } from "./circuit/index.ts";
import { rules as earth } from "./earth/index.ts";
import { rules as mains } from "./mains/index.ts";
import { rules as output } from "./output/index.ts";
import { rules as rating } from "./rating/index.ts";
import type { Rule } from "./rule.ts";
import { rules as supply } from "./supply/index.ts";
import { rules as valve } from "./valve/index.ts";

/** Mains and earth lead: what can kill comes before what can burn. */
export const rules: readonly Rule[] = [
  ...mains,
  ...earth,
  ...rating,
  ...valve,
  ...supply,
  ...output,
  ...bench,
  ...circuit,
];

export const ruleById: ReadonlyMap<string, Rule> = new Map(rules.map((rule) => [rule.id, rule]));

/** Where a rule's page stands, from the root of the package. */
export const pageOf = (id: string): string => `docs/rules/${id.replace("/", "-")}.md`;
