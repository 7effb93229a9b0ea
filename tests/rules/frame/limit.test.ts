import { describe, expect, it } from "vitest";
import { kept, limit, margin } from "../../../server/rules/frame/index.ts";
import type { Margin, Rule, RuleContext } from "../../../server/rules/rule.ts";

const rule = { id: "rating/capacitor-voltage", severity: "error", source: "a sheet" } as Rule;
const place = { file: "a", range: { start: 0, end: 3 } };

function context(derate: Record<string, number> = {}, margins: Record<string, number> = {}) {
  const counted = { checked: 0, unchecked: [] as string[] };
  const fake = {
    circuit: { assumptions: { derate: new Map(Object.entries(derate).map(([k, value]) => [k, { value }])) } },
    options: { margins },
    checked: () => counted.checked++,
    unchecked: (_on: string, what: string) => counted.unchecked.push(what),
  } as unknown as RuleContext;
  return { fake, counted };
}

const hold = (value: number, bound: number, more: object = {}) => {
  const { fake, counted } = context();
  const found = limit(fake, rule, {
    on: "C22",
    place,
    says: "C22 sees",
    value,
    limit: bound,
    unit: "V",
    ...more,
  });
  return { found, counted };
};

describe("a value against a limit", () => {
  it("is quiet at the limit and a hair under it, and speaks a hair over it", () => {
    expect(hold(400, 400).found).toBeUndefined();
    expect(hold(399.99, 400).found).toBeUndefined();
    expect(hold(400.01, 400).found?.severity).toBe("error");
  });

  it("counts what it held, whatever came of it", () => {
    expect(hold(1, 400).counted).toEqual({ checked: 1, unchecked: [] });
    expect(hold(500, 400).counted).toEqual({ checked: 1, unchecked: [] });
  });

  it("records a figure that is no number as unchecked, never as passed", () => {
    const { found, counted } = hold(Number.NaN, 400);
    expect(found).toBeUndefined();
    expect(counted.checked).toBe(0);
    expect(counted.unchecked).toHaveLength(1);
  });

  it("says what, how much, when, against what, by how much, what to do", () => {
    const { found } = hold(437, 400, {
      state: "cold",
      mains: "high",
      note: "HT3 unloaded",
      todo: "Next standard rating: 630 V.",
    });
    expect(found?.message).toBe(
      "C22 sees 437 V in cold start at high mains (HT3 unloaded); rated 400 V, over by 9 %. Next standard rating: 630 V.",
    );
    expect(found).toMatchObject({
      value: 437,
      limit: 400,
      unit: "V",
      state: "cold",
      mains: "high",
      source: "a sheet",
    });
  });

  it("warns past the margin, at the margin's edge", () => {
    expect(hold(360, 400, { margin: 0.9 }).found).toBeUndefined();
    const { found } = hold(360.1, 400, { margin: 0.9 });
    expect(found).toMatchObject({ severity: "warning", limit: 360 });
    expect(found?.message).toContain("just past the 90 % of common practice");
  });

  it("never writes the same figure on both sides of an excess", () => {
    expect(hold(400.04, 400).found?.message).toContain("400.04 V; rated 400 V");
  });

  it("holds a least value from below", () => {
    expect(hold(1e6, 1e6, { breach: "below", unit: "Ω" }).found).toBeUndefined();
    expect(hold(0.99e6, 1e6, { breach: "below", unit: "Ω" }).found?.message).toContain("under by 1 %");
  });
});

describe("margins of practice", () => {
  it("takes the file's, then the options', then the default", () => {
    const named = { margin: 0.5, marginSource: "common practice" };
    expect(margin(context().fake, "resistor", 0.5)).toEqual(named);
    expect(margin(context({}, { resistor: 0.6 }).fake, "resistor", 0.5).margin).toBe(0.6);
    expect(margin(context({ resistor: 0.4 }, { resistor: 0.6 }).fake, "resistor", 0.5).margin).toBe(0.4);
  });
});

describe("words that cost something", () => {
  const words = () => {
    let asked = 0;
    const told = () => {
      asked++;
      return { says: "C22 sees", todo: "A larger one." };
    };
    return { told, asked: () => asked };
  };
  const figures = { on: "C22", place, limit: 400, unit: "V" } as const;

  it("are not asked for while the limit holds", () => {
    const { told, asked } = words();
    expect(limit(context().fake, rule, { ...figures, value: 399, words: told })).toBeUndefined();
    expect(asked()).toBe(0);
  });

  it("make the same finding as words given beforehand", () => {
    const { told, asked } = words();
    const lazy = limit(context().fake, rule, { ...figures, value: 437, words: told });
    expect(asked()).toBe(1);
    expect(lazy).toEqual(limit(context().fake, rule, { ...figures, value: 437, ...told() }));
    expect(lazy?.message).toBe("C22 sees 437 V; rated 400 V, over by 9 %. A larger one.");
  });
});

describe("a limit kept by far", () => {
  it("is counted at once, and its figure worked out once, when it is asked for", () => {
    const margins: Margin[] = [];
    const fake = {
      checked: (_on: string, found?: Margin) => found && margins.push(found),
    } as unknown as RuleContext;
    let worked = 0;
    kept(fake, rule, {
      on: ["V1", "V1.cathode"],
      limit: 100,
      unit: "V",
      worst: () => {
        worked++;
        return { value: 1.8, state: "idle", mains: "high" };
      },
    });
    expect(margins).toHaveLength(1);
    expect(worked).toBe(0);
    expect(JSON.parse(JSON.stringify(margins[0]))).toEqual({
      on: "V1",
      rule: "rating/capacitor-voltage",
      value: 1.8,
      limit: 100,
      unit: "V",
      breach: "above",
      state: "idle",
      mains: "high",
      source: "a sheet",
    });
    expect(worked).toBe(1);
  });
});
