/** What was solved a little while ago serves again for the same circuit, and for no other; what is kept is bounded. */
import { readFileSync } from "node:fs";
import { describe, expect, test } from "vitest";
import { type CheckResult, check } from "../../server/check.ts";
import { Earlier } from "../../server/earlier.ts";
import { solvedAs } from "../../server/physics/alike.ts";
import { amplifier } from "../bench/amplifier.ts";

const file = "fantail-5.ampnet";
const text = readFileSync(new URL(`../../samples/${file}`, import.meta.url), "utf8");
const figure = /resistor R\d+ \d+/.exec(text)!;
const at = figure.index + figure[0].length;

/** The text with digits typed behind the first resistor's figure. */
const typed = (digits: string, of = text) => of.slice(0, at) + digits + of.slice(at);

/** All that anybody can read of a check, fixes included. */
const told = ({ findings, checked, unchecked, margins, missed, circuit, analysis }: CheckResult) => ({
  findings: findings.map((finding) => ({ ...finding, fix: finding.fix })),
  checked,
  unchecked,
  margins: margins.map(({ on, rule, value, limit, state, mains }) => ({
    on,
    rule,
    value,
    limit,
    state,
    mains,
  })),
  missed,
  volts: analysis.states.map((state) => [...(analysis.solution(state, "nominal")?.volts ?? [])]),
  nets: circuit.nets,
});

describe("undo, redo, and a digit taken back", () => {
  test("solve nothing anew, and tell what a first check of the text tells", () => {
    const earlier = new Earlier();
    let previous: CheckResult | undefined;
    const solved = new Map<string, unknown>();
    for (const digits of ["", "1", "10", "1", "", "1", "10"]) {
      const now = typed(digits);
      const result = check(file, now, { previous, earlier });
      const known = solved.get(digits);
      if (known) expect(solvedAs(result.analysis)).toBe(known);
      else solved.set(digits, solvedAs(result.analysis));
      expect(told(result)).toEqual(told(check(file, now)));
      expect(result.analysis.circuit).toBe(result.circuit);
      previous = result;
    }
    expect(new Set(solved.values()).size).toBe(3);
  });

  test("with another comment and another rating meanwhile", () => {
    const earlier = new Earlier();
    const first = check(file, text, { earlier });
    check(file, typed("1"), { earlier });
    const other = `# back again\n${text.replace(/(resistor R\d+ \S+) [\d.]+W/g, "$1 0.1W")}`;
    const back = check(file, other, { earlier });
    expect(solvedAs(back.analysis)).toBe(solvedAs(first.analysis));
    expect(told(back)).toEqual(told(check(file, other)));
  });

  test("of another file of the same circuit", () => {
    const earlier = new Earlier();
    const first = check(file, text, { earlier });
    const copy = check("copy.ampnet", text, { earlier });
    expect(solvedAs(copy.analysis)).toBe(solvedAs(first.analysis));
    expect(told(copy)).toEqual(told(check("copy.ampnet", text)));
  });
});

describe("no result depends on what was checked before", () => {
  const changes: Record<string, (text: string) => string> = {
    "an ohm more": (own) => typed("1", own),
    "a net's name": (own) => own.replace(/\bgnd\b/g, "chassis"),
    "a tolerance": (own) => own.replace(/(resistor R\d+ \d\S*)/, "$1 20%"),
    "the mains": (own) => own.replace(/^mains (\d+)/m, (_, volts) => `mains ${Number(volts) + 1}`),
    "a part fewer": (own) => own.replace(/^.*\bcapacitor C\d.*\n/m, ""),
    "two parts changed about": (own) => {
      const lines = own.split("\n");
      const first = lines.findIndex((line) => line.includes("-- resistor"));
      const next = lines.findIndex((line, index) => index > first && line.includes("-- resistor"));
      [lines[first], lines[next]] = [lines[next], lines[first]];
      return lines.join("\n");
    },
  };
  test.each(Object.keys(changes))("%s", (what) => {
    const earlier = new Earlier();
    const first = check(file, text, { earlier });
    const edited = changes[what](text);
    expect(edited).not.toBe(text);
    const again = check(file, edited, { previous: first, earlier });
    expect(solvedAs(again.analysis)).not.toBe(solvedAs(first.analysis));
    expect(told(again)).toEqual(told(check(file, edited)));
  });

  test("the options' mains region, which the file leaves out", () => {
    const open = text.replace(/^mains.*$/m, "");
    const earlier = new Earlier();
    for (const region of ["AU", "US", "AU"])
      expect(told(check(file, open, { earlier, region }))).toEqual(told(check(file, open, { region })));
    expect(earlier.size).toBe(2);
  });
});

describe("what is kept", () => {
  test("is bounded in parts, and what was used longest ago goes first", () => {
    const parts = check(file, text).circuit.parts.length;
    const earlier = new Earlier(3 * parts);
    const solvedOf = (digits: string) => solvedAs(check(file, typed(digits), { earlier }).analysis);
    const [one, two, three] = ["1", "2", "3"].map(solvedOf);
    expect(earlier.size).toBe(3);
    // The first is used again: the second is now the oldest.
    expect(solvedOf("1")).toBe(one);
    solvedOf("4");
    expect(earlier.size).toBe(3);
    expect(solvedOf("3")).toBe(three);
    expect(solvedOf("1")).toBe(one);
    expect(solvedOf("2")).not.toBe(two);
  });

  test("is the newest alone where that is larger than the bound", () => {
    const earlier = new Earlier(100);
    const large = amplifier();
    const first = check("large.ampnet", large, { earlier });
    expect(first.circuit.parts.length).toBeGreaterThan(100);
    expect(earlier.size).toBe(1);
    check(file, text, { earlier });
    expect(earlier.size).toBe(1);
    expect(earlier.find(first.circuit)).toBeUndefined();
  });

  test("holds no analysis that was taken over, and no text", () => {
    const earlier = new Earlier();
    const first = check(file, text, { earlier });
    for (let n = 0; n < 5; n++) check(file, `# ${n}\n${text}`, { earlier });
    expect(earlier.size).toBe(1);
    expect(solvedAs(earlier.find(first.circuit)!)).toBe(first.analysis);
  });
});
