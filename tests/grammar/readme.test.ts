/** The grammar's own documentation: its examples parse, and its EBNF names what the parser knows. */
import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { format } from "../../grammar/format.ts";
import { kinds, labels, statementWords } from "../../grammar/names.ts";
import { parse } from "../../grammar/parse.ts";

const readme = readFileSync(new URL("../../grammar/README.md", import.meta.url), "utf8");
const fenced = (language: string) =>
  [...readme.matchAll(new RegExp(`\`\`\`${language}\\n([\\s\\S]*?)\`\`\``, "g"))].map(([, text]) => text);
const examples = fenced("ampnet");
const [ebnf] = fenced("ebnf");

describe("examples", () => {
  it.each(examples.map((text) => [text.split("\n")[0], text]))("%s", (_, text) => {
    const tree = parse(text);
    expect(tree.problems).toEqual([]);
    expect(format(format(text))).toBe(format(text));
  });
  it("show every statement and every kind", () => {
    const statements = examples.flatMap((text) => parse(text).statements);
    const nodes = new Set(statements.map(({ node }) => node));
    expect([...nodes].sort()).toEqual(
      [
        "amp",
        "assume",
        "block",
        "include",
        "mains",
        "measured",
        "metal",
        "part",
        "path",
        "use",
        "waive",
      ].sort(),
    );
    const shown = new Set(
      statements.flatMap((one) =>
        one.node === "part"
          ? [one.kind.text]
          : one.node === "path"
            ? one.parts.map(({ kind }) => kind.text)
            : [],
      ),
    );
    expect([...shown].sort()).toEqual([...kinds].sort());
  });
});

describe("the EBNF", () => {
  /** The quoted words of one definition. */
  const words = (rule: string) => {
    const definition = new RegExp(`^${rule} +=([\\s\\S]*?) ;`, "m").exec(ebnf)![1];
    return [...definition.matchAll(/"([^"]+)"/g)].map(([, word]) => word).sort();
  };
  it("lists the kinds and the labels that the parser knows", () => {
    expect(words("kind")).toEqual([...kinds].sort());
    expect(words("label")).toEqual([...labels, "dc"].sort());
  });
  it("defines every statement", () => {
    for (const word of statementWords) expect(words(word)).toContain(word);
  });
  it("defines every name that it uses", () => {
    const defined = new Set([...ebnf.matchAll(/^([a-z-]+) +=/gm)].map(([, name]) => name));
    const bare = ebnf.replaceAll(/\(\*[\s\S]*?\*\)|"[^"]*"|'"'/g, " ");
    const given = new Set(["line-end", "unicode-letter", "digit", "digits", "year", "month", "day"]);
    const prose = new Set("any character but and a line's end blank".split(" "));
    const used = bare
      .match(/[a-z][a-z'-]*/g)!
      .filter((name) => !given.has(name) && !prose.has(name) && name !== "s");
    expect([...new Set(used)].filter((name) => !defined.has(name))).toEqual([]);
  });
});
