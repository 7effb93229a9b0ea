import { readdirSync, readFileSync } from "node:fs";
import { join, resolve } from "node:path";
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { applyEdits, type CheckInput, check, checkSteps } from "../../server/check.ts";

const bench = (volts: number) =>
  `amp "Bench"\nsource B1 300V { plus: HT, minus: gnd }\nHT -- capacitor C1 100n ${volts}V film -- gnd\nHT -- resistor R1 1M 1W 500V metal-film -- gnd\n`;
const rulesOf = (text: string, input?: CheckInput) =>
  check("a.ampnet", text, input).findings.map(({ rule }) => rule);

const samples = resolve(import.meta.dirname, "../../samples");
const texts = readdirSync(samples)
  .filter((name) => name.endsWith(".ampnet"))
  .map((name) => ({ name, text: readFileSync(join(samples, name), "utf8") }));

describe("check", () => {
  it("gives voltages, findings, counts and every source read", () => {
    const result = check("a.ampnet", bench(100));
    expect(result.circuit.name).toBe("Bench");
    expect([...result.sources.keys()]).toEqual(["a.ampnet"]);
    expect(result.analysis.solution("idle", "nominal")?.solved).toBe(true);
    expect(result.findings.map(({ rule }) => rule)).toContain("rating/capacitor-voltage");
    expect(result.checked).toBeGreaterThan(0);
    expect(rulesOf(bench(630))).not.toContain("rating/capacitor-voltage");
  });

  it("is pure: the same text gives the same, whatever was checked before", () => {
    // Without the fixes: asking for one checks the file again.
    const told = (text: string) =>
      check("a.ampnet", text).findings.map(({ rule, message, place, on }) => ({ rule, message, place, on }));
    const first = told(texts[0].text);
    for (const { text } of texts.slice(1, 3)) told(text);
    expect(told(texts[0].text)).toEqual(first);
  });

  it("tells what the parser found among the findings, sorted with them, and keeps the rest", () => {
    const { findings } = check("a.ampnet", `HT -- resistor\n${bench(100)}`);
    expect(findings[0]).toMatchObject({ place: { file: "a.ampnet" } });
    expect(findings[0].rule).toMatch(/^circuit\//);
    expect(findings.map(({ rule }) => rule)).toContain("rating/capacitor-voltage");
  });

  it("reads included files through the host, and names them in what it finds there", () => {
    const readInclude = (file: string) => (file === "amps/part.ampnet" ? bench(100) : undefined);
    const { findings, sources } = check("amps/a.ampnet", 'include "part.ampnet"\n', { readInclude });
    expect([...sources.keys()]).toEqual(["amps/a.ampnet", "amps/part.ampnet"]);
    expect(findings.find(({ rule }) => rule === "rating/capacitor-voltage")?.place.file).toBe(
      "amps/part.ampnet",
    );
  });

  it("works in steps, to the same end", () => {
    const [{ name, text }] = texts;
    let steps = 0;
    const run = checkSteps(name, text);
    let step = run.next();
    for (; !step.done; step = run.next()) steps++;
    expect(steps).toBeGreaterThan(5);
    const messages = (result: typeof step.value) =>
      result.findings.map(({ rule, message }) => `${rule} ${message}`);
    expect(messages(step.value)).toEqual(messages(check(name, text)));
  });

  it("offers a fix only when it removes the finding and adds none", () => {
    const { findings, sources } = check("a.ampnet", bench(100));
    const finding = findings.find(({ rule }) => rule === "rating/capacitor-voltage");
    const after = applyEdits(sources, finding?.fix?.edits ?? [])?.get("a.ampnet") ?? "";
    expect(after).toBe(bench(400));
    expect(rulesOf(after)).not.toContain("rating/capacitor-voltage");
  });
});

describe("settings for what a file leaves out", () => {
  const mains = (text: string, region: string) => check("a.ampnet", text, { region }).circuit.mains;

  it("region: its volts and tolerance, unless the file says its own", () => {
    // AS 60038: 230 V +10 % −6 %; ANSI C84.1 range B at the service: 110 to 127 V.
    expect(mains("", "AU").volts).toEqual({
      low: expect.closeTo(216.2, 9),
      nominal: 230,
      high: expect.closeTo(253, 9),
    });
    expect(mains("", "US")).toMatchObject({
      hertz: 60,
      region: "US",
      volts: { low: expect.closeTo(110, 9), high: expect.closeTo(127, 9) },
    });
    expect(mains("mains 240 V 50 Hz\n", "AU").volts).toMatchObject({
      nominal: 240,
      high: expect.closeTo(253, 9),
    });
    expect(mains("mains 230 V 50 Hz EU\n", "AU")).toMatchObject({
      region: "EU",
      volts: { low: expect.closeTo(207, 9) },
    });
    expect(mains("assume mains +5% -5%\n", "AU").volts).toMatchObject({ low: expect.closeTo(218.5, 9) });
  });

  it("ambient: unless the file assumes one", () => {
    const ambient = (text: string) =>
      check("a.ampnet", text, { ambient: 60 }).circuit.assumptions.ambientCelsius.value;
    expect(ambient("")).toBe(60);
    expect(ambient("assume ambient 25C\n")).toBe(25);
  });
});

describe("edits", () => {
  const sources = new Map([["a", { text: "0123456789" }]]);
  const edit = (start: number, end: number, text: string, file = "a") => ({
    place: { file, range: { start, end } },
    text,
  });

  it("are made together, whatever their order", () => {
    expect(applyEdits(sources, [edit(5, 6, "x"), edit(0, 0, "y"), edit(9, 10, "")])?.get("a")).toBe(
      "y01234x678",
    );
  });

  it("that overlap, or lie in a file that wasn't read, can't be made", () => {
    expect(applyEdits(sources, [edit(2, 5, "x"), edit(4, 6, "y")])).toBeUndefined();
    expect(applyEdits(sources, [edit(0, 1, "x", "b")])).toBeUndefined();
  });
});

describe("any text", () => {
  it("cut off at any byte never throws, and keeps the findings of the lines before the cut one", () => {
    fc.assert(
      fc.property(
        fc.constantFrom(...texts),
        fc.double({ min: 0, max: 1, noNaN: true }),
        ({ name, text }, share) => {
          const bytes = new TextEncoder().encode(text);
          const cut = new TextDecoder().decode(bytes.subarray(0, Math.floor(bytes.length * share)));
          const { findings } = check(name, cut);
          // The lines before the cut one mean what they meant: the same slips are told there as without it.
          const whole = cut.slice(0, cut.lastIndexOf("\n") + 1);
          const slips = (all: typeof findings) =>
            all
              .filter(({ rule, place }) => rule === "circuit/syntax" && place.range.start < whole.length - 1)
              .map(({ rule, place }) => `${rule} ${place.range.start}`);
          expect(slips(findings)).toEqual(slips(check(name, whole).findings));
        },
      ),
      { numRuns: 40 },
    );
  });
});
