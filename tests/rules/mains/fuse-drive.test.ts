/** The mains fuse at full drive. The current is held against the conservation of energy: what goes out has to come in. */
import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { check } from "../../../server/check.ts";

const sample = (fuse: string, turn: (text: string) => string = (text) => text) => {
  const text = readFileSync(new URL("../../../samples/brolga-35.ampnet", import.meta.url), "utf8");
  return check("brolga-35.ampnet", turn(text.replace(/fuse F1 T1A/, `fuse F1 ${fuse}`)), {
    today: "2026-01-15",
  });
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

describe("a screen resistor at full drive", () => {
  const watts = sample("T1A").analysis.drive("nominal")[0].worst;
  const [reference, { watts: most }] = [...watts].find(([key]) => /^R/.test(key)) ?? [
    "",
    { watts: Number.NaN },
  ];
  const rated = (share: number) =>
    sample("T1A", (text) =>
      text.replace(
        new RegExp(`(resistor ${reference} \\S+) \\S+W`),
        `$1 ${(share * most * 1e3).toFixed(0)}mW`,
      ),
    ).findings.filter(
      ({ rule, on, state }) =>
        rule === "rating/resistor-power" && on.includes(reference) && state === "drive",
    );
  it("is held to its watts, and to half as much again as an error", () => {
    expect(rated(1.02)).toEqual([]);
    expect(rated(0.98).map(({ severity }) => severity)).toEqual(["warning"]);
    expect(rated(0.68).map(({ severity }) => severity)).toEqual(["warning"]);
    expect(rated(0.65).map(({ severity }) => severity)).toEqual(["error"]);
  });
});

describe("what else carries the current of full drive", () => {
  const [fuse] = told("T500mA");
  const amps = fuse.value ?? Number.NaN;
  const rated = (rule: string, turn: (text: string) => string) =>
    sample("T1A", turn).findings.filter((found) => found.rule === rule && found.severity === "error");
  const switched = (most: number) => (text: string) =>
    text.replace("dpst 250V 6A", `dpst 250V ${most * 1e3}mA`);
  const corded = (most: number) => (text: string) => text.replace("1.0mm2 10A", `1.0mm2 ${most * 1e3}mA`);

  it.each([
    ["mains/switch-rating", switched],
    ["mains/cord-rating", corded],
  ] as const)("%s holds it as the fuse does, just under and just over", (rule, turn) => {
    const [found] = rated(rule, turn(amps * 0.99));
    expect(found.state).toBe("drive");
    expect(found.value).toBeCloseTo(amps, 9);
    expect(found.message).toContain("sine at full drive");
    expect(rated(rule, turn(amps * 1.01))).toEqual([]);
  });
});
