/** A comment typed, a line left blank: the findings of before, told where things stand now, as if for the first time. */
import { readdirSync, readFileSync } from "node:fs";
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { type CheckInput, type CheckResult, check } from "../../server/check.ts";

const folder = new URL("../../samples/", import.meta.url);
const samples = readdirSync(folder)
  .filter((file) => file.endsWith(".ampnet"))
  .map((file) => ({ file, text: readFileSync(new URL(file, folder), "utf8") }))
  .filter(({ text }) => !/^include/m.test(text));

/** All that anybody can read of a check but what is solved. */
const told = ({ findings, checked, unchecked, margins, missed, circuit }: CheckResult, fixes: boolean) => ({
  findings: fixes ? findings.map((finding) => ({ ...finding, fix: finding.fix })) : findings.map(withoutFix),
  checked,
  unchecked,
  margins: margins.map(({ on, rule, value, limit }) => ({ on, rule, value, limit })),
  missed,
  circuit,
});
function withoutFix(finding: CheckResult["findings"][number]) {
  const { rule, severity, message, on, place, related, waived, follows } = finding;
  return { rule, severity, message, on, place, related, waived, follows };
}

const kept = (again: CheckResult, before: CheckResult) => again.margins === before.margins;

/** A third of the way in, at the end of a line that says something. */
const middle = (text: string) => {
  const from = text.indexOf("\n", text.length / 3) + 1;
  const said = from + text.slice(from).search(/^\s*[A-Za-z]/m);
  return text.indexOf("\n", said);
};

describe("an edit that says nothing", () => {
  const edits: Record<string, (text: string) => string> = {
    "a comment above all": (text) => text.replace("\n", "\n# looked at again\n"),
    "a comment behind a statement": (text) =>
      `${text.slice(0, middle(text))}  # why${text.slice(middle(text))}`,
    "a blank line": (text) => `${text.slice(0, middle(text) + 1)}\n${text.slice(middle(text) + 1)}`,
    "another blank between words": (text) => text.replace(/ -- /, "  --  "),
    "no comment at all": (text) => text.replace(/^#.*\n/m, ""),
    "a line end of another sort": (text) => text.replace("\n", "\r\n"),
  };
  for (const [what, edit] of Object.entries(edits)) {
    test.each(samples.filter((_, index) => index % 3 === 0))(`${what} in $file`, ({ file, text }) => {
      const edited = edit(text);
      const before = check(file, text);
      const again = check(file, edited, { previous: before });
      expect(told(again, false)).toEqual(told(check(file, edited), false));
    });
  }

  test("typed letter by letter runs no rule again, fixes and all", () => {
    const { file, text: sound } = samples.find((sample) => /fantail/.test(sample.file)) ?? samples[0];
    // Resistors too small, of which some have a fix that helps.
    const text = sound.replace(/(resistor R\d+ \S+) [\d.]+W/g, "$1 0.1W");
    const at = middle(text);
    let previous = check(file, `${text.slice(0, at)} #${text.slice(at)}`);
    const first = previous;
    for (const typed of [" ", " t", " to", " to d", " to do: "]) {
      const edited = `${text.slice(0, at)} #${typed}${text.slice(at)}`;
      const again = check(file, edited, { previous });
      expect(kept(again, first)).toBe(true);
      previous = again;
    }
    const whole = check(file, `${text.slice(0, at)} # to do: ${text.slice(at)}`);
    expect(told(previous, true)).toEqual(told(whole, true));
    expect(whole.findings.some((finding) => finding.fix)).toBe(true);
  });
});

describe("any edit", () => {
  const bits = ["#", "# a", "\n", "  ", " ", "\t", "x", "1", "\n#\n", "#\n", '"', " # b\n"];
  const small = samples.filter(({ text }) => text.length < 3000).slice(0, 3);
  test("gives what a first check gives", () => {
    expect(small.length).toBeGreaterThan(0);
    let same = 0;
    fc.assert(
      fc.property(
        fc.constantFrom(...small),
        fc.nat(),
        fc.nat({ max: 3 }),
        fc.array(fc.constantFrom(...bits), { maxLength: 2 }),
        ({ file, text }, place, length, inserted) => {
          const at = place % (text.length + 1);
          const edited = text.slice(0, at) + inserted.join("") + text.slice(at + length);
          const before = check(file, text);
          const again = check(file, edited, { previous: before });
          if (kept(again, before)) same++;
          expect(told(again, false)).toEqual(told(check(file, edited), false));
        },
      ),
      { numRuns: 60 },
    );
    expect(same).toBeGreaterThan(3);
  });
});

describe("the rules run again", () => {
  const { file, text } = samples[0];
  const commented = text.replace("\n", "\n# again\n");

  test.each<[string, CheckInput, CheckInput]>([
    ["on another day", { today: "2026-01-01" }, { today: "2026-01-02" }],
    ["with other margins", {}, { margins: { resistor: 0.1 } }],
    ["with other severities", {}, { severity: { rating: "off" } }],
    ["at another ambient", { ambient: 20 }, { ambient: 60 }],
  ])("%s", (_, first, then) => {
    const before = check(file, text, first);
    const again = check(file, commented, { ...then, previous: before });
    expect(kept(again, before)).toBe(false);
    expect(told(again, false)).toEqual(told(check(file, commented, then), false));
  });

  test("where the analysis alone is known, or another file was checked", () => {
    const before = check(file, text);
    for (const previous of [{ analysis: before.analysis }, check("other.ampnet", text)]) {
      const again = check(file, commented, { previous });
      expect(told(again, false)).toEqual(told(check(file, commented), false));
    }
  });

  test("where a file is included: its text may be another", () => {
    const main = `${text}\ninclude "more.ampnet"\n`;
    const includes = (ohms: string) => (name: string) =>
      name === "more.ampnet" ? `gnd -- resistor R900 ${ohms} -- gnd\n` : undefined;
    const before = check(file, main, { readInclude: includes("1k") });
    const edited = main.replace("\n", "\n# again\n");
    const again = check(file, edited, { previous: before, readInclude: includes("2k") });
    expect(told(again, false)).toEqual(told(check(file, edited, { readInclude: includes("2k") }), false));
  });
});
