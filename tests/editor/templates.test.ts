/** What a new user is given first must not itself be at fault. */
import { describe, expect, it } from "vitest";
import { TEMPLATES } from "../../client/templates.ts";
import { check } from "../../server/check.ts";

describe("templates", () => {
  it.each(TEMPLATES.map((template) => [template.label, template]))("%s: nothing is over", (_, { text }) => {
    const { findings, checked } = check("new.ampnet", text, {});
    expect(findings.filter(({ severity }) => severity !== "advice" && severity !== "unchecked")).toEqual([]);
    expect(checked).toBeGreaterThan(10);
  });
});
