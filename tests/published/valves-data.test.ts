import { describe, expect, test } from "vitest";
import { valveFiles } from "../../server/facts/valves/all.ts";
import {
  equivalentNote,
  findSemiconductor,
  findValve,
  limitsOfName,
  valveNames,
  valveTypes,
} from "../../server/facts/valves/index.ts";
import { valveSchema } from "../../server/facts/valves/schema.ts";
import sources from "../../server/facts/valves/sources.json" with { type: "json" };

describe("every valve file", () => {
  test.each(valveFiles.map((file) => [file.type, file] as const))(
    "%s keeps the schema and names its sources",
    (_, file) => {
      const parsed = valveSchema.safeParse(file);
      expect(parsed.error?.issues ?? []).toEqual([]);
      const keys: string[] = [];
      const walk = (value: unknown): void => {
        if (Array.isArray(value)) for (const item of value) walk(item);
        else if (value && typeof value === "object")
          for (const [key, inner] of Object.entries(value)) {
            if (key === "source") keys.push(inner as string);
            else walk(inner);
          }
      };
      walk(file);
      expect(keys.length).toBeGreaterThan(0);
      for (const key of keys) expect(sources, `source ${key}`).toHaveProperty([key]);
    },
  );

  test("twins have sections a and b on different pins, others one", () => {
    for (const { kind, sections, type } of valveTypes()) {
      if (kind === "twin-triode") {
        expect(
          sections.map((s) => s.name),
          type,
        ).toEqual(["a", "b"]);
        expect(sections[0].pins.get("plate"), type).not.toBe(sections[1].pins.get("plate"));
      } else
        expect(
          sections.map((s) => s.name),
          type,
        ).toEqual([""]);
      if (kind === "pentode" || kind === "beam-tetrode") {
        for (const electrode of ["plate", "grid", "screen", "cathode"])
          expect(sections[0].electrodes, type).toContain(electrode);
      }
      if (kind === "rectifier")
        expect([...sections[0].electrodes].sort(), type).toEqual(["cathode", "plate1", "plate2"]);
    }
  });

  test("what is printed twice agrees: mu is gm times plate resistance within 7 %", () => {
    for (const { type, points } of valveTypes())
      for (const p of points)
        if (p.mu && p.gm_umho && p.rp_ohm)
          expect(Math.abs((p.gm_umho * 1e-6 * p.rp_ohm) / p.mu - 1), `${type} ${p.plate_V} V`).toBeLessThan(
            0.07,
          );
  });
});

describe("names", () => {
  test.each([
    ["ECC83", "12AX7A"],
    ["12ax7", "12AX7A"],
    ["7025", "12AX7A"],
    ["6BQ5", "EL84"],
    ["5ar4", "GZ34"],
    ["6CA7", "EL34"],
    ["6L6-GC", "6L6GC"],
    ["6SN7", "6SN7GTB"],
    ["KT66", "KT66"],
    ["6CA4", "EZ81"],
    ["EL90", "6AQ5A"],
  ])("%s is %s", (name, type) => {
    expect(findValve(name)?.type).toBe(type);
  });
  test("unknown names and semiconductors are no valves", () => {
    expect(findValve("EL999")).toBeUndefined();
    expect(findValve("1N4007")).toBeUndefined();
    expect(findSemiconductor("1n4007")?.limits.inverseVolts).toBe(1000);
    expect(valveNames()).toContain("5AR4");
    expect(valveNames()).not.toContain("1N4007");
  });
  test("an equivalent whose limits differ carries a note, and its own limits where held", () => {
    expect(equivalentNote("ECC83")).toBeDefined();
    expect(equivalentNote("12AX7A")).toBeUndefined();
    expect(equivalentNote("GZ32")).toBe("near");
    expect(limitsOfName("6V6GT")?.plateWatts).toBe(12);
    expect(findValve("6V6GT")?.limits.plateWatts).toBe(14);
    expect(limitsOfName("EL34")).toBeUndefined();
  });
  test("sections of a twin may differ", () => {
    const dw7 = findValve("12DW7")!;
    expect(dw7.sections[0].limits.plateWatts).toBe(1.2);
    expect(dw7.sections[1].limits.plateWatts).toBe(3.3);
    expect(dw7.sections[0].pins.get("plate")).toBe("6");
  });
});
