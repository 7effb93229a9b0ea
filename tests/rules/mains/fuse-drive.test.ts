/** The mains fuse at full drive. The current is held against the conservation of energy: what goes out has to come in. */
import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { check } from "../../../server/check.ts";

const sample = (fuse: string) => {
  const text = readFileSync(new URL("../../../samples/brolga-35.ampnet", import.meta.url), "utf8");
  return check("brolga-35.ampnet", text.replace(/fuse F1 T1A/, `fuse F1 ${fuse}`), { today: "2026-01-15" });
};
const told = (fuse: string) => sample(fuse).findings.filter((finding) => finding.rule === "mains/fuse-value");

describe("mains/fuse-value at full drive", () => {
  it("tells a fuse that only full drive is too much for, and no other", () => {
    const [found] = told("T500mA");
    expect(found.severity).toBe("warning");
    expect(found.state).toBe("drive");
    expect(told("T630mA")).toEqual([]);
    expect(told("T1A")).toEqual([]);
  });

  it("counts at least the watts at idle and what the loudspeaker is given", () => {
    const { analysis, circuit } = sample("T500mA");
    const idle = analysis.solution("idle", "nominal")?.readings.get("T1.primary")?.watts ?? Number.NaN;
    const [stage] = analysis.drive("nominal");
    const [found] = told("T500mA");
    expect((found.value ?? 0) * circuit.mains.volts.nominal).toBeGreaterThan(idle);
    expect((found.value ?? 0) * circuit.mains.volts.nominal).toBeGreaterThan(stage.watts);
  });
});
