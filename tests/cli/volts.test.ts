import { describe, expect, it } from "vitest";
import { voltsSchema } from "../../server/reports/schema.ts";
import { derate, folder } from "./host.ts";

const divider = `amp "Divider"
source B1 300V { plus: HT, minus: gnd }
HT -- resistor R1 20k 5W -- half -- resistor R2 10k 5W -- gnd
half -- wire -- joined
`;

describe("derate volts", () => {
  it("answers for a file with sources and resistors alone, and every name of a joined net", async () => {
    const { code, out } = await derate(folder({ "a.ampnet": divider }), [
      "volts",
      "a.ampnet",
      "--format",
      "json",
    ]);
    expect(code).toBe(0);
    const { amp, states } = voltsSchema.parse(JSON.parse(out));
    expect(amp).toBe("Divider");
    const idle = states.idle?.nominal;
    expect(idle?.nets.HT.volts).toBeCloseTo(300, 9);
    expect(idle?.nets.half.volts).toBeCloseTo(100, 9);
    expect(idle?.nets.joined.volts).toBeCloseTo(100, 9);
    expect(idle?.parts.R1).toMatchObject({
      volts: expect.closeTo(200, 9),
      amps: expect.closeTo(0.01, 12),
      watts: expect.closeTo(2, 9),
    });
  });

  it("shows one state and one mains level when asked", async () => {
    const cwd = folder({ "a.ampnet": divider });
    const { out } = await derate(cwd, [
      "volts",
      "a.ampnet",
      "--state",
      "idle",
      "--mains",
      "high",
      "--format",
      "json",
    ]);
    const { states } = voltsSchema.parse(JSON.parse(out));
    expect(Object.keys(states)).toEqual(["idle"]);
    expect(Object.keys(states.idle ?? {})).toEqual(["high"]);
  });

  it("prints a table that a person with a meter can follow", async () => {
    const { code, out } = await derate(folder({ "a.ampnet": divider }), [
      "volts",
      "a.ampnet",
      "--state",
      "idle",
      "--parts",
    ]);
    expect(code).toBe(0);
    expect(out).toMatch(/^ {2}half +100\.0 +100\.0 +100\.0/m);
    expect(out).toMatch(/^ {2}R1 .*200 V.*10 mA.*2 W/m);
    expect(out).toContain("The file has no mains line: 230.0 V 50 Hz taken");
    expect(out).toMatch(/measure with one hand/);
  });

  it("tells on standard error that the file has errors, and answers all the same", async () => {
    const { out, err } = await derate(folder({ "a.ampnet": `${divider}half -- resistor\n` }), [
      "volts",
      "a.ampnet",
      "--format",
      "json",
    ]);
    expect(voltsSchema.parse(JSON.parse(out)).states.idle?.nominal?.nets.half.volts).toBeCloseTo(100, 9);
    expect(err).toMatch(/^derate: \d+ errors? in a\.ampnet: "derate check" tells what/);
  });

  it("says which states there are when one isn't", async () => {
    const { code, out, err } = await derate(folder({ "a.ampnet": divider }), [
      "volts",
      "a.ampnet",
      "--state",
      "standby",
    ]);
    expect({ code, out }).toEqual({ code: 2, out: "" });
    expect(err).toMatch(/no state "standby"; it has .*idle/);
  });

  it("takes standard input, as a check does", async () => {
    const ran = await derate(folder(), ["volts", "-", "--format", "json"], {
      readInput: async () => new TextEncoder().encode(divider),
    });
    expect(ran.code).toBe(0);
    expect(voltsSchema.parse(JSON.parse(ran.out)).states.idle?.nominal?.nets.half.volts).toBeCloseTo(100, 9);
  });

  it("takes one file, not a folder of them", async () => {
    const cwd = folder({ "amps/a.ampnet": divider, "amps/b.ampnet": divider });
    const { code, err } = await derate(cwd, ["volts", "amps"]);
    expect(code).toBe(2);
    expect(err).toMatch(/takes one file/);
  });
});
