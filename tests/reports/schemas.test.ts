import { readFileSync } from "node:fs";
import { join } from "node:path";
import Ajv2020 from "ajv/dist/2020.js";
import { describe, expect, it } from "vitest";
import { schemas, schemasFolder } from "../../scripts/schemas.ts";
import { check } from "../../server/check.ts";
import { userValves } from "../../server/facts/valves/user.ts";
import { jsonReport } from "../../server/reports/json.ts";
import { reportOf } from "../../server/reports/report.ts";
import { voltsReport } from "../../server/reports/volts.ts";

const text = readFileSync(join(import.meta.dirname, "../../samples/fantail-5.ampnet"), "utf8");
const validator = (name: string) =>
  new Ajv2020({ strict: false }).compile(JSON.parse(schemas().get(name) as string));

describe("published schemas", () => {
  it.each([...schemas().keys()])("%s is up to date (npm run schemas writes it)", (name) => {
    expect(readFileSync(join(schemasFolder, name), "utf8")).toBe(schemas().get(name));
  });

  it("hold for what is written, by an independent validator", () => {
    const result = check("a.ampnet", text);
    const valid = validator("check.schema.json");
    expect(valid(JSON.parse(jsonReport([reportOf(result, { fixes: true })]))) || valid.errors).toBe(true);
    const volts = validator("volts.schema.json");
    expect(volts(JSON.parse(JSON.stringify(voltsReport(result)))) || volts.errors).toBe(true);
  });

  it("tell a wrong file of valves from a right one, as its reader does", () => {
    const valid = validator("valves.schema.json");
    const own = { type: "TB20", kind: "triode", law: { k_mA_per_V1p5: 0.9, mu: 20 } };
    const points = [
      { plate_V: 250, grid_V: -8, plate_mA: 9, gm_umho: 2600, rp_ohm: 7700 },
      { plate_V: 90, grid_V: 0, plate_mA: 10 },
    ];
    for (const [file, right] of [
      [own, true],
      [[own, { ...own, type: "X", equivalents: ["Y", { name: "Z", note: "near" }] }], true],
      [{ valves: [{ type: "P1", kind: "triode", points, limits: { plate_W: 2.5 } }] }, true],
      [{ type: "R1", kind: "rectifier", drop: [{ mA_per_plate: 100, drop_V: 40 }] }, true],
      [{ ...own, kind: "hexode" }, false],
      [{ ...own, law: { k_mA_per_V1p5: "0.9", mu: 20 } }, false],
      [{ ...own, limits: { plate_Volts: 3 } }, false],
      [{ kind: "triode" }, false],
    ] as const) {
      expect(valid(file), JSON.stringify(file)).toBe(right);
      expect(userValves(file).problems.length === 0, JSON.stringify(file)).toBe(right);
    }
  });

  it("tell a wrong configuration from a right one", () => {
    const valid = validator("derate.config.schema.json");
    expect(valid({ severity: { rating: "off" }, overrides: [{ files: ["a/**"], ambient: 30 }] })).toBe(true);
    expect(valid({ severty: {} })).toBe(false);
    expect(valid({ region: "OZ" })).toBe(false);
  });
});
