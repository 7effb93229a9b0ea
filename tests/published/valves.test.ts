import { describe, expect, test } from "vitest";
import { valveFiles } from "../../server/facts/valves/all.ts";
import { fits } from "../../server/facts/valves/fits.ts";
import residualsJson from "../../server/facts/valves/residuals.json" with { type: "json" };
import { fitType, residualsFor } from "../../server/physics/laws/fit/fit.ts";
import { sectionLaw } from "../../server/physics/laws/index.ts";
import { exceptions, spreadLimits, valveChecks } from "./checks/valves.ts";

const checks = valveChecks();

describe("every published figure of the valve sheets", () => {
  test.each(checks.map((check) => [check.name, check] as const))("%s", (_, check) => {
    const off = check.got() / check.expected - 1;
    expect(Math.abs(off), `${check.quantity}: ${off}`).toBeLessThanOrEqual(check.within);
  });

  test("a bound is wider than the design's only where it has to be, and says why", () => {
    for (const [name, { within, why }] of Object.entries(exceptions)) {
      const check = checks.find((other) => other.key === name);
      expect(check, name).toBeDefined();
      const off = Math.abs(check!.got() / check!.expected - 1);
      expect(off, `${name} is met within its table's bound`).toBeGreaterThan(
        name.includes("gain") ? 0.1 : 0.15,
      );
      expect(within - off, `${name} is wider than needed`).toBeLessThan(0.03);
      expect(why.length).toBeGreaterThan(20);
    }
  });

  test("well documented types keep two rows or more out of the fit", () => {
    const few = new Set(["6SC7", "6SL7GT", "5751", "6DJ8", "12AY7", "12DW7", "7591A", "6AQ5A"]);
    for (const file of valveFiles) {
      if (!file.points || few.has(file.type)) continue;
      // The sections of a triode-pentode are documented apart.
      const apart = file.kind === "triode-pentode" ? [1, 2] : [undefined];
      for (const section of apart) {
        const points = file.points.filter((point) => section === undefined || point.section === section);
        if (points.length < 5) continue;
        expect(points.filter((point) => point.held_out).length, file.type).toBeGreaterThanOrEqual(2);
      }
    }
  });
});

describe("the fits", () => {
  const find = (type: string) => valveFiles.find((file) => file.type === type);

  test("the residuals written are those of the parameters written, for every figure", () => {
    const written = residualsJson as Record<
      string,
      Record<string, { point: number; quantity: string; computed: number }[]>
    >;
    for (const [type, sections] of Object.entries(fits)) {
      const file = find(type)!;
      for (const [name, parameters] of Object.entries(sections)) {
        const number =
          Math.max(
            file.sections.findIndex((section) => section.name === name),
            0,
          ) + 1;
        const now = residualsFor(file, number, parameters);
        const then = written[type][name];
        expect(then.length, type).toBe(now.length);
        for (const old of then) {
          const fresh = now.find((r) => r.index === old.point && r.quantity === old.quantity)!;
          expect(fresh.computed / old.computed, `${type} ${old.point} ${old.quantity}`).toBeCloseTo(1, 3);
        }
      }
    }
  });

  test.each(["12AX7A", "6SN7GTB", "EF86", "6AQ5A"])("a refit of %s gives the file, bit for bit", (type) => {
    const again = fitType(find(type)!, find)!;
    for (const [name, fit] of Object.entries(again)) expect(fit.parameters).toEqual(fits[type][name]);
  });
});

describe("limits of plate current that makers publish", () => {
  test.each(spreadLimits.map((limit) => [limit.type, limit] as const))(
    "a nominal %s lies between them",
    (type, limit) => {
      const out = new Float64Array(12);
      (sectionLaw(type, "") ?? sectionLaw(type, "a"))!.evaluate(limit.grid, limit.screen, limit.plate, out);
      expect(out[0]).toBeGreaterThan(limit.least);
      expect(out[0]).toBeLessThan(limit.most);
    },
  );
});
