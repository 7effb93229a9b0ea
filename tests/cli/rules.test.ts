import { describe, expect, it } from "vitest";
import { rules } from "../../server/rules/index.ts";
import { derate } from "./host.ts";

const squeezed = (text: string) => text.replace(/\s+/g, " ");

describe("derate explain", () => {
  it.each(rules.map((rule) => [rule.id, rule] as const))(
    "%s: tells all that the rule says of itself",
    async (id, rule) => {
      const { code, out, err } = await derate("/", ["explain", id]);
      expect({ code, err }).toEqual({ code: 0, err: "" });
      const page = squeezed(out);
      for (const said of [
        id,
        rule.severity,
        rule.sentence,
        rule.why,
        rule.source,
        rule.quiet,
        rule.caution ?? "",
      ])
        expect(page).toContain(squeezed(said).trim());
      for (const example of [rule.bad, rule.good]) expect(page).toContain(squeezed(example).trim());
      for (const line of out.split("\n"))
        if (!rule.bad.includes(line.trim()) && !rule.good.includes(line.trim()))
          expect(line.length).toBeLessThanOrEqual(110);
    },
  );

  it("offers what may be meant", async () => {
    const typed = await derate("/", ["explain", "rating/capacitor-voltag"]);
    expect(typed).toMatchObject({ code: 2, out: "" });
    expect(typed.err).toContain("(meant: rating/capacitor-voltage?)");
    expect((await derate("/", ["explain", "capacitor-voltage"])).err).toContain(
      "(meant: rating/capacitor-voltage?)",
    );
  });

  it("gives the same to programs", async () => {
    const { out } = await derate("/", ["explain", rules[0].id, "--format", "json"]);
    expect(JSON.parse(out).rule).toMatchObject({ id: rules[0].id, why: rules[0].why, bad: rules[0].bad });
  });
});

describe("derate rules", () => {
  it("lists every rule once", async () => {
    const { code, out } = await derate("/", ["rules"]);
    expect(code).toBe(0);
    for (const { id } of rules) expect(out.match(new RegExp(`^  ${id} `, "gm"))).toHaveLength(1);
    const data = JSON.parse((await derate("/", ["rules", "--format", "json"])).out);
    expect(data.rules.map(({ id }: { id: string }) => id)).toEqual(rules.map(({ id }) => id));
  });
});
