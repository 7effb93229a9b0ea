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
import { sectionLaw } from "../../server/physics/laws/index.ts";

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

  test("twins have sections a and b on different pins, triode-pentodes one of each, others one", () => {
    for (const { kind, sections, points, type } of valveTypes()) {
      if (kind === "twin-triode") {
        expect(
          sections.map((s) => s.name),
          type,
        ).toEqual(["a", "b"]);
        expect(sections[0].pins.get("plate"), type).not.toBe(sections[1].pins.get("plate"));
      } else if (kind === "triode-pentode") {
        expect(
          sections.map((s) => s.name),
          type,
        ).toEqual(["triode", "pentode"]);
        expect([...sections[0].electrodes].sort(), type).toEqual(["cathode", "grid", "plate"]);
        for (const electrode of ["plate", "grid", "screen", "cathode"])
          expect(sections[1].electrodes, type).toContain(electrode);
        // Every point says of which section it is, and each section has limits of its own.
        for (const { section } of points) expect([1, 2], type).toContain(section);
        for (const { limits } of sections) {
          expect(limits.plateWatts, type).toBeGreaterThan(0);
          expect(limits.heaterNegativeVolts, type).toBeGreaterThan(0);
        }
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
        expect([...sections[0].electrodes].sort(), type).toEqual(
          type === "35W4" ? ["cathode", "plate1"] : ["cathode", "plate1", "plate2"],
        );
    }
  });

  test("no two electrodes, nor an electrode and a heater, share a pin", () => {
    for (const { type, kind, sections, file } of valveTypes()) {
      // Some twins have one cathode.
      const joined =
        sections.length === 2 && sections[0].pins.get("cathode") === sections[1].pins.get("cathode");
      const pins = sections.flatMap((section, index) =>
        [...section.pins]
          .filter(([electrode]) => !(joined && index === 1 && electrode === "cathode"))
          .flatMap(([, pin]) => pin.split("+")),
      );
      expect(new Set(pins).size, type).toBe(pins.length);
      for (const [pin, use] of Object.entries(file.other_pins ?? {}))
        if (kind !== "rectifier") expect(pins, `${type}: ${use}`).not.toContain(pin);
    }
  });

  test("a type of another heater is the same valve in all else", () => {
    for (const [name, type, volts, amps] of [
      ["PCL82", "ECL82", 16, 0.3],
      ["50BM8", "ECL82", 50, 0.1],
      ["PCL86", "ECL86", 14.5, 0.3],
      ["PL84", "EL86", 15, 0.3],
      ["12AV6", "6AV6", 12.6, 0.15],
    ] as const) {
      const facts = findValve(name)!;
      const model = findValve(type)!;
      expect(facts.heater, name).toMatchObject([{ volts, amps }]);
      expect(model.heater[0].volts, name).not.toBe(volts);
      expect(facts.sections, name).toEqual(model.sections);
      expect(facts.type, name).not.toBe(type);
      for (const section of model.sections) {
        const plate = (law: string) => {
          const out = new Float64Array(12);
          sectionLaw(law, section.name)!.evaluate(-5, 150, 170, out);
          return out[0];
        };
        expect(plate(name), name).toBe(plate(type));
      }
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
  test("a name may have limits of its own for each section", () => {
    expect(limitsOfName("6U8", "triode")?.plateWatts).toBe(2.7);
    expect(limitsOfName("6U8", "pentode")?.plateWatts).toBe(2.8);
    expect(limitsOfName("6U8")).toBeDefined();
    expect(limitsOfName("6U8A", "pentode")).toBeUndefined();
    expect(findValve("6U8")?.sections.map(({ limits }) => limits.plateWatts)).toEqual([2.5, 3]);
    // A type of another heater is held to the type's own.
    expect(limitsOfName("9U8A", "triode")).toBeUndefined();
  });
  test("sections of a twin may differ", () => {
    const dw7 = findValve("12DW7")!;
    expect(dw7.sections[0].limits.plateWatts).toBe(1.2);
    expect(dw7.sections[1].limits.plateWatts).toBe(3.3);
    expect(dw7.sections[0].pins.get("plate")).toBe("6");
  });
});
