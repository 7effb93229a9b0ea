/**
 * Whole dc circuits against published operation rows (each row's sheet stands in its `source`, server/facts/valves): the resistance-
 * coupled stages of the European sheets, and cathode-biased output stages with no signal.
 */
import { describe, expect, it } from "vitest";
import { valveTypes } from "../../server/facts/valves/index.ts";
import { analyse } from "../../server/physics/analyse.ts";
import { Bench } from "../physics/circuits.ts";

const rows = valveTypes().flatMap((facts) => facts.points.map((point) => ({ facts, point })));

describe("resistance-coupled stages, plate current within 10 % of the sheet", () => {
  const coupled = rows.filter(
    ({ point }) => point.mode === "resistance-coupled" && point.cathode_ohm && point.plate_mA,
  );
  it("has rows to hold", () => expect(coupled.length).toBeGreaterThan(15));
  it.each(
    coupled.map(({ facts, point }) => ({
      name: `${facts.type} ${point.plate_supply_V} V ${point.plate_load_ohm! / 1000}k ${point.cathode_ohm} (${point.source})`,
      facts,
      point,
    })),
  )("$name", ({ facts, point }) => {
    const bench = new Bench();
    bench.source("S1", "HT", "gnd", point.plate_supply_V!).resistor("R1", "HT", "p", point.plate_load_ohm!);
    bench.resistor("R2", "k", "gnd", point.cathode_ohm!).resistor("R3", "g", "gnd", 1e6);
    const section = facts.kind === "triode-pentode" ? "triode" : "a";
    bench.valve("V1", facts.type, { [section]: { plate: "p", grid: "g", cathode: "k" } });
    const circuit = bench.circuit();
    const solution = analyse(circuit).solution("idle", "nominal")!;
    const amps = solution.readings.get(`V1.${section}.plate`)!.amps!;
    expect(Math.abs(amps / (point.plate_mA! / 1000) - 1)).toBeLessThan(0.1);
    // The plate volts follow.
    const published = point.plate_supply_V! - (point.plate_mA! / 1000) * point.plate_load_ohm!;
    const plate = solution.volts[circuit.netByName.get("p")!];
    expect(Math.abs(plate / published - 1)).toBeLessThan(0.1);
  });
});

describe("cathode-biased output stages without signal, within 15 % of the sheet", () => {
  const stages = rows.filter(
    ({ point }) =>
      (point.mode === "single-ended" || point.mode === "push-pull") &&
      point.cathode_ohm !== undefined &&
      point.plate_mA !== undefined &&
      point.plate_V !== undefined &&
      point.connection !== "ultra-linear" &&
      (point.screen_V !== undefined || point.connection === "triode-strapped"),
  );
  it("has rows to hold", () => expect(stages.length).toBeGreaterThan(12));
  it.each(
    stages.map(({ facts, point }) => ({
      name: `${facts.type} ${point.connection} ${point.mode} ${point.plate_V} V ${point.cathode_ohm} (${point.source})`,
      facts,
      point,
    })),
  )("$name", ({ facts, point }) => {
    const pair = point.mode === "push-pull";
    const shared = point.cathode_ohm_shared_by === 2;
    const strapped = point.connection === "triode-strapped";
    const bench = new Bench();
    // Sheets give volts to the cathode: the supply is higher by the bias.
    const bias = Math.abs(point.grid_V!);
    bench.source("S1", "HT", "gnd", point.plate_V! + bias);
    bench.source("S2", "screen", "gnd", (point.screen_V ?? point.plate_V!) + bias);
    bench.resistor("R1", "k1", "gnd", point.cathode_ohm!).resistor("R2", "g", "gnd", 100e3);
    const screen = (plate: string): string => (strapped ? plate : "screen");
    const second = shared ? "k1" : "k2";
    bench.valve("V1", facts.type, { "": { plate: "HT", screen: screen("HT"), grid: "g", cathode: "k1" } });
    if (pair) {
      bench.valve("V2", facts.type, {
        "": { plate: "HT", screen: screen("HT"), grid: "g", cathode: second },
      });
      if (!shared) bench.resistor("R3", "k2", "gnd", point.cathode_ohm!);
    }
    const solution = analyse(bench.circuit()).solution("idle", "nominal")!;
    const read = (key: string): number => solution.readings.get(key)?.amps ?? 0;
    let amps = read("V1.plate") + (strapped ? read("V1.screen") : 0);
    if (pair) amps += read("V2.plate") + (strapped ? read("V2.screen") : 0);
    expect(Math.abs(amps / (point.plate_mA! / 1000) - 1)).toBeLessThan(0.15);
  });
});
