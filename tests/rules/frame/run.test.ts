import { readdirSync } from "node:fs";
import { fileURLToPath } from "node:url";
import { describe, expect, it } from "vitest";
import { applyEdits, check } from "../../../server/check.ts";
import { holds, withCheckedFixes } from "../../../server/rules/frame/recheck.ts";
import { rules } from "../../../server/rules/index.ts";
import type { Finding, Rule, RuleContext } from "../../../server/rules/rule.ts";
import { type RunOptions, runRules, runRulesInSteps } from "../../../server/rules/run.ts";

const TEXT = `amp "Frame"
mains 230 V 50 Hz AU
cord W1 1.0mm2 anchored {
  active:  inA  60mm brown
  neutral: inN  60mm blue
  earth:   inE 110mm green-yellow
}
inE -- bond E1 shared-fixing -- chassis
gnd -- bond E2 -- chassis
inA -- fuse F1 T315mA 250V -- fused
fused -- switch S1 mains 250V 6A -- live
transformer T1 40VA {
  primary 230V 30R { live inN }
  heater 6.3V 5A   { h1 gnd }
}
h1 -- lamp LP1 6.3V 5A -- gnd
h1 -- resistor R1 1M 0.5W 350V -- probe
`;
const OWN = "earth/own-fixing";
const NET = "circuit/single-use-net";

const run = (text: string, options: RunOptions = {}) => {
  const { circuit, analysis } = check("frame.ampnet", text);
  return runRules(circuit, analysis, { today: "2026-01-15", ...options });
};
const of = (findings: readonly Finding[], rule: string) =>
  findings.filter((finding) => finding.rule === rule);

describe("every rule", () => {
  it("has a fixed id of its own and all that its page tells", () => {
    expect(new Set(rules.map((rule) => rule.id)).size).toBe(rules.length);
    for (const rule of rules) {
      expect(rule.id).toMatch(/^(mains|earth|rating|valve|supply|output|bench|circuit)\/[a-z-]+$/);
      for (const text of [rule.sentence, rule.why, rule.source, rule.quiet])
        expect(text.length).toBeGreaterThan(10);
      if (/^(mains|earth)\//.test(rule.id)) expect(rule.caution).toMatch(/unplug/i);
    }
  });

  it("stands in an index: every rule of a family's folder is among the rules", async () => {
    const root = new URL("../../../server/rules/", import.meta.url);
    const families = ["mains", "earth", "rating", "valve", "supply", "output", "bench", "circuit"];
    const written: Rule[] = [];
    for (const family of families) {
      for (const name of readdirSync(new URL(`${family}/`, root))) {
        const module: Record<string, unknown> = await import(
          fileURLToPath(new URL(`${family}/${name}`, root))
        );
        written.push(...Object.values(module).filter(isRule));
      }
    }
    const unique = [...new Set(written)];
    expect(unique.map((rule) => rule.id).sort()).toEqual(rules.map((rule) => rule.id).sort());
  });
});

const isRule = (value: unknown): value is Rule =>
  typeof value === "object" && value !== null && "id" in value && "check" in value && "sentence" in value;

describe("a rule that fails", () => {
  const broken: Rule = {
    ...rules[0],
    id: "mains/broken",
    check: () => {
      throw new Error("not a number");
    },
  };
  it("becomes one finding that names it, and the others go on", () => {
    const { findings, unchecked } = run(TEXT, { rules: [broken, ...rules] });
    const [found] = of(findings, "circuit/rule-failed");
    expect(found.message).toContain("mains/broken");
    expect(found.on).toEqual(["mains/broken"]);
    expect(of(findings, OWN)).toHaveLength(1);
    expect(unchecked).toBe(run(TEXT).unchecked + 1);
  });
  it("keeps what it found before it failed", () => {
    const half: Rule = {
      ...broken,
      *check(context: RuleContext) {
        yield { ...of(run(TEXT).findings, OWN)[0], rule: "mains/broken" };
        context.checked("x");
        throw new Error("later");
      },
    };
    const told = run(TEXT, { rules: [half] }).findings.map((finding) => finding.rule);
    expect(told).toEqual(expect.arrayContaining(["mains/broken", "circuit/rule-failed"]));
  });
});

describe("waivers", () => {
  const waived = (line: string, options?: RunOptions) => run(`${TEXT}${line}\n`, options).findings;

  it("mark what they hold, and leave it in sight", () => {
    const [found] = of(waived(`waive ${NET} on probe because "test lead"`), NET);
    expect(found.waived).toEqual({ reason: "test lead", until: undefined });
    const [earth] = of(waived(`waive ${OWN} on E1 because "bolt on order" until 2026-03-01`), OWN);
    expect(earth).toMatchObject({
      severity: "error",
      waived: { reason: "bolt on order", until: "2026-03-01" },
    });
  });

  it("hold a mains or earth error only with a reason", () => {
    const findings = waived(`waive ${OWN} on E1 because ""`);
    expect(of(findings, OWN)[0].waived).toBeUndefined();
    expect(of(findings, "circuit/waive-unused")[0].message).toContain("only with a reason");
  });

  it("hold through their last day and not a day longer", () => {
    const line = `waive ${NET} on probe because "test lead" until 2026-01-15`;
    expect(of(waived(line, { today: "2026-01-15" }), NET)[0].waived).toBeDefined();
    const late = waived(line, { today: "2026-01-16" });
    expect(of(late, NET)[0].waived).toBeUndefined();
    expect(of(late, "circuit/waive-expired")).toHaveLength(1);
    expect(of(late, "circuit/waive-unused")).toHaveLength(0);
  });

  it("are reported when nothing is left for them, with a near name for an unknown rule", () => {
    expect(of(waived(`waive ${NET} on R1x because "old"`), "circuit/waive-unused")).toHaveLength(1);
    const [found] = of(waived('waive circuit/single-use-nets because "old"'), "circuit/waive-unused");
    expect(found.message).toContain("Meant: circuit/single-use-net?");
  });

  it("hold only what they name", () => {
    const findings = waived(`waive ${NET} on other because "test lead"`);
    expect(of(findings, NET)[0].waived).toBeUndefined();
  });
});

describe("severities by option", () => {
  it("change by rule and by family, and silence", () => {
    expect(of(run(TEXT, { severity: { [NET]: "error" } }).findings, NET)[0].severity).toBe("error");
    expect(of(run(TEXT, { severity: { circuit: "advice" } }).findings, NET)[0].severity).toBe("advice");
    expect(of(run(TEXT, { severity: { circuit: "off" } }).findings, NET)).toEqual([]);
    expect(of(run(TEXT, { severity: { circuit: "off", [NET]: "advice" } }).findings, NET)).toHaveLength(1);
  });
  it("never silence an error of the mains or the earth", () => {
    for (const wish of ["off", "advice"] as const) {
      expect(of(run(TEXT, { severity: { earth: wish, [OWN]: wish } }).findings, OWN)[0].severity).toBe(
        "error",
      );
    }
  });
});

describe("causes and followers", () => {
  const cause: Rule = { ...rules[0], id: "mains/cause", check: () => [made("mains/cause", ["F1", "S1"])] };
  const effect = (on: string): Rule => ({
    ...rules[0],
    id: "mains/effect",
    check: () => [made("mains/effect", [on])],
  });
  const made = (rule: string, on: readonly string[]): Finding => ({
    rule,
    severity: "error",
    message: `${rule} on ${on.join()}`,
    on,
    place: { file: "frame.ampnet", range: { start: 1, end: 2 } },
    related: [],
  });
  const leads = (manner: "attach" | "mark", sharing: "part" | "any" = "part") => ({
    ...cause,
    leads: [{ rule: "mains/effect", sharing, manner }],
  });

  it("attach a follower to its leader", () => {
    const { findings } = run(TEXT, { rules: [effect("S1"), leads("attach")] });
    expect(of(findings, "mains/effect")).toEqual([]);
    expect(of(findings, "mains/cause")[0].related).toEqual([
      { on: "S1", message: "follows from this: mains/effect on S1", place: made("", []).place },
    ]);
  });
  it("mark a follower, and put it behind", () => {
    const { findings } = run(TEXT, { rules: [effect("S1"), leads("mark")] });
    const own = findings.filter((finding) => /cause|effect/.test(finding.rule));
    expect(own.map((finding) => [finding.rule, finding.follows])).toEqual([
      ["mains/cause", undefined],
      ["mains/effect", "mains/cause"],
    ]);
  });
  it("follow what their leader was itself attached to", () => {
    const last: Rule = {
      ...rules[0],
      id: "mains/last",
      check: () => [made("mains/last", ["S1"])],
    };
    const middle: Rule = {
      ...effect("S1"),
      leads: [{ rule: "mains/last", sharing: "part", manner: "mark" }],
    };
    const { findings } = run(TEXT, { rules: [middle, last, leads("attach")] });
    expect(of(findings, "mains/effect")).toEqual([]);
    expect(of(findings, "mains/last")[0].follows).toBe("mains/cause");
  });
  it("leave alone what shares no part, unless told that nothing need be shared", () => {
    expect(of(run(TEXT, { rules: [effect("T1"), leads("attach")] }).findings, "mains/effect")).toHaveLength(
      1,
    );
    expect(of(run(TEXT, { rules: [effect("T1"), leads("attach", "any")] }).findings, "mains/effect")).toEqual(
      [],
    );
  });
});

describe("the order of findings", () => {
  it("is by place and rule, and the same each time", () => {
    const { findings } = run(TEXT);
    const starts = findings.map((finding) => finding.place.range.start);
    expect(starts).toEqual([...starts].sort((a, b) => a - b));
    expect(run(TEXT).findings).toEqual(findings);
  });
});

describe("fixes", () => {
  const place = { file: "a", range: { start: 0, end: 1 } };
  const found = (rule: string, on: string): Finding => ({
    rule,
    severity: "error",
    message: "",
    on: [on],
    place,
    related: [],
  });
  const fix = { title: "Put it right", edits: [{ place, text: "x" }] };
  const before = [{ ...found("a/b", "R1"), fix }, found("c/d", "R2")];

  it("hold when their finding goes and none comes", () => {
    expect(holds(before[0], fix, before, () => [found("c/d", "R2")])).toBe(true);
  });
  it("do not hold when it stays, when another comes, or when the edit cannot be made", () => {
    expect(holds(before[0], fix, before, () => before)).toBe(false);
    expect(holds(before[0], fix, before, () => [found("c/d", "R2"), found("e/f", "R3")])).toBe(false);
    expect(holds(before[0], fix, before, () => undefined)).toBe(false);
  });
  it("are looked into when they are first asked for, and once", () => {
    let asked = 0;
    const [first] = withCheckedFixes(before, () => {
      asked++;
      return [];
    });
    expect(asked).toBe(0);
    expect(first.fix).toBe(fix);
    expect(first.fix).toBe(fix);
    expect(asked).toBe(1);
  });
  it("are not offered where nobody can look", () => {
    expect(withCheckedFixes(before)[0].fix).toBeUndefined();
  });

  it("put tip and ring of a mains fuse right", () => {
    const text = TEXT.replace("inA -- fuse F1 T315mA 250V -- fused", "fused -- fuse F1 T315mA 250V -- inA");
    const result = check("frame.ampnet", text);
    const [wrong] = of(result.findings, "mains/fuse-tip");
    const edited = wrong.fix && applyEdits(result.sources, wrong.fix.edits)?.get("frame.ampnet");
    expect(edited).toBe(TEXT);
  });
});

describe("stops", () => {
  /** A rule that looks at many parts and finds something on the last. */
  const slow = (stops: number): Rule =>
    ({
      ...rules[0],
      id: "circuit/slow",
      *check({ circuit }: RuleContext) {
        for (let k = 0; k < stops; k++) yield;
        const [part] = circuit.parts;
        yield {
          rule: "circuit/slow",
          severity: "advice",
          message: "found",
          on: [],
          place: part.place,
          related: [],
        };
      },
    }) as Rule;
  const stepsOf = (rule: Rule) => {
    const { circuit, analysis } = check("frame.ampnet", TEXT);
    const steps = runRulesInSteps(circuit, analysis, { rules: [rule] });
    let count = 0;
    for (;;) {
      const step = steps.next();
      if (step.done) return { count, findings: step.value.findings };
      count++;
    }
  };

  it("of a rule are no findings, and let others in while it runs", () => {
    const few = stepsOf(slow(0));
    const many = stepsOf(slow(1000));
    expect(of(many.findings, "circuit/slow")).toHaveLength(1);
    expect(many.findings).toEqual(few.findings);
    expect(many.count).toBeGreaterThan(few.count + 20);
  });

  it("stand between the parts of every rule that looks at many", () => {
    // Ten times the resistors: the rules that look at resistors stop more often.
    const row = (count: number) =>
      Array.from({ length: count }, (_, k) => `h1 -- resistor R${k + 10} 1k 0.5W 350V -- gnd`).join("\n");
    const count = (text: string) => {
      const { circuit, analysis } = check("frame.ampnet", text);
      const steps = runRulesInSteps(circuit, analysis);
      let stops = 0;
      while (!steps.next().done) stops++;
      return stops;
    };
    expect(count(`${TEXT}${row(400)}`)).toBeGreaterThan(count(TEXT) + 200);
  });
});
