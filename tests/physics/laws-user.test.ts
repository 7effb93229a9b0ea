import { describe, expect, test } from "vitest";
import { bookWith } from "../../server/facts/valves/book.ts";
import { userValves } from "../../server/facts/valves/user.ts";
import { sectionLaw } from "../../server/physics/laws/index.ts";
import { lawsWith } from "../../server/physics/laws/user.ts";

const own = {
  type: "6J5X",
  kind: "triode",
  equivalents: ["L63X"],
  heater: { arrangements: [{ name: "single", volts: 6.3, amps: 0.3 }] },
  limits: { rating_system: "design-centre", plate_V: 300, plate_W: 2.5 },
  points: [
    { plate_V: 250, grid_V: -8, plate_mA: 9, gm_umho: 2600, rp_ohm: 7700 },
    { plate_V: 90, grid_V: 0, plate_mA: 10, gm_umho: 3000, rp_ohm: 6700 },
  ],
};

describe("a user's own types", () => {
  test("are found by their names, have limits, and a law fitted to their points", () => {
    const { valves, problems } = userValves({ valves: [own] });
    expect(problems).toEqual([]);
    const book = bookWith(valves);
    expect(book.find("l63x")?.type).toBe("6J5X");
    expect(book.find("6J5X")?.limits.plateWatts).toBe(2.5);
    expect(book.find("ECC83")?.type).toBe("12AX7A");
    const out = new Float64Array(12);
    const laws = lawsWith(valves);
    laws.section("L63X", "")!.evaluate(-8, 0, 250, out);
    expect(out[0]).toBeGreaterThan(0.0085);
    expect(out[0]).toBeLessThan(0.0095);
    expect(1 / out[5] / 7700).toBeGreaterThan(0.9);
    // Fitted once for the file; the published ones as they are.
    expect(laws.section("6J5X", "")).toBe(laws.section("6j5x", ""));
    expect(laws.section("12AX7A", "a")).toBe(sectionLaw("12AX7A", "a"));
  });
  test("take the place of a published one of that name, in that book alone", () => {
    const { valves } = userValves({ ...own, type: "6SN7GTB", equivalents: [], limits: { plate_W: 1 } });
    expect(bookWith(valves).find("6SN7GTB")?.limits.plateWatts).toBe(1);
    expect(bookWith([]).find("6SN7GTB")?.limits.plateWatts).toBe(5);
  });
  test("rectifiers and silicon by drop", () => {
    const { valves, problems } = userValves([
      { type: "R1", kind: "rectifier", heating: "direct", drop: [{ mA_per_plate: 100, drop_V: 40 }] },
      { type: "D9", kind: "diode", limits: { vrrm_V: 1600, vf_V: 1.2, vf_at_A: 2 } },
    ]);
    expect(problems).toEqual([]);
    const out = new Float64Array(2);
    lawsWith(valves).rectifier("r1")!.evaluate(40, out);
    expect(out[0]).toBeCloseTo(0.1, 6);
    lawsWith(valves).semiconductor("D9").evaluate(1.2, out);
    expect(out[0]).toBeCloseTo(2, 6);
    expect(bookWith(valves).find("D9")).toBeUndefined();
    expect(bookWith(valves).findSemiconductor("D9")?.limits.inverseVolts).toBe(1600);
    expect(bookWith(valves).find("R1")?.heating).toBe("direct");
  });
});

describe("a user's own triode-pentode", () => {
  const bottle = {
    type: "TP9",
    kind: "triode-pentode",
    heater: { arrangements: [{ name: "single", volts: 6.3, amps: 0.8 }] },
    other_heaters: [{ type: "PTP9", heater: { arrangements: [{ name: "single", volts: 16, amps: 0.3 }] } }],
    sections: [
      { name: "triode", limits: { plate_W: 1 } },
      { name: "pentode", limits: { rating_system: "design-centre", plate_W: 7, screen_V: 300 } },
    ],
    points: [
      { section: 1, plate_V: 250, grid_V: -8, plate_mA: 9, gm_umho: 2600, rp_ohm: 7700 },
      {
        section: 2,
        plate_V: 170,
        screen_V: 170,
        grid_V: -11.5,
        plate_mA: 41,
        screen_mA: 8,
        gm_umho: 7500,
        rp_ohm: 16000,
      },
    ],
  };
  test("has a law and limits for each section, and its other heaters", () => {
    const { valves, problems } = userValves(bottle);
    expect(problems).toEqual([]);
    expect(valves.map(({ type }) => type)).toEqual(["TP9", "PTP9"]);
    const book = bookWith(valves);
    expect(book.find("TP9")?.sections.map(({ name, limits }) => [name, limits.plateWatts])).toEqual([
      ["triode", 1],
      ["pentode", 7],
    ]);
    expect(book.find("PTP9")?.heater[0].volts).toBe(16);
    const laws = lawsWith(valves);
    const out = new Float64Array(12);
    laws.section("TP9", "triode")!.evaluate(-8, 0, 250, out);
    expect(Math.abs(out[0] / 0.009 - 1)).toBeLessThan(0.05);
    expect(out[1]).toBe(0);
    for (const type of ["TP9", "PTP9"]) {
      laws.section(type, "pentode")!.evaluate(-11.5, 170, 170, out);
      expect(Math.abs(out[0] / 0.041 - 1), type).toBeLessThan(0.08);
      expect(Math.abs(out[1] / 0.008 - 1), type).toBeLessThan(0.15);
    }
    expect(laws.section("TP9", "")).toBeUndefined();
  });
  test.each([
    [{ ...bottle, sections: [{ name: "a" }, { name: "b" }] }, "sections"],
    [{ ...bottle, points: bottle.points.slice(0, 1) }, "points"],
    [{ ...bottle, points: bottle.points.map(({ section, ...point }) => point) }, "points[0]"],
    [
      {
        ...bottle,
        points: [],
        sections: bottle.sections.map((one) => ({ ...one, law: { k_mA_per_V1p5: 2, mu: 9 } })),
      },
      "sections[1].law.plate_share",
    ],
  ])("that lacks something says what: %#", (json, field) => {
    expect(userValves(json).problems.map((problem) => problem.field)).toEqual([field]);
  });
});

describe("a wrong file names the field", () => {
  const problem = (json: unknown) =>
    userValves(json).problems.map(({ field, message }) => `${field}: ${message}`);
  test.each([
    [{ ...own, limits: { plate_V: "300 V" } }, "limits.plate_V: expected number, received string"],
    [
      { valves: [own, { ...own, type: "X2", equivalents: [], kind: "hexode" }] },
      'valves[1].kind: expected one of "triode"',
    ],
    [{ ...own, limits: { plate_Volts: 300 } }, 'limits: unknown field "plate_Volts"'],
    [
      { ...own, points: [{ plate_V: 250, plate_mA: 9, grid_V: "-8" }] },
      "points[0].grid_V: expected number, received string",
    ],
    [{ ...own, points: [] }, "points: gives 0 figures"],
    [
      { type: "P", kind: "pentode", law: { k_mA_per_V1p5: 3, mu: 20 } },
      "law.plate_share: a pentode's law needs",
    ],
    [{ type: "R", kind: "rectifier" }, "drop: a rectifier needs its voltage drop"],
    [[own, { ...own, equivalents: [] }], "valves[1].type: 6J5X is also named by 6J5X"],
    ["EL84", "expected a valve"],
    [[null], "valves[0]: expected a valve"],
    [{ ...own, law: { k_mA_per_V1p5: -1, mu: 20 } }, "law.k_mA_per_V1p5"],
  ])("%j", (json, told) => {
    expect(problem(json).join("\n")).toContain(told);
  });
  test("and leaves the sound ones standing", () => {
    expect(userValves({ valves: [own, { kind: "triode" }] }).valves.map((valve) => valve.type)).toEqual([
      "6J5X",
    ]);
  });
  test("nothing makes it throw", () => {
    for (const json of [
      undefined,
      null,
      3,
      "",
      [],
      {},
      { valves: {} },
      { valves: [[]] },
      { type: 4, sections: 3, points: 9 },
    ]) {
      expect(() => userValves(json)).not.toThrow();
    }
  });
});
