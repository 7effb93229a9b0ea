/**
 * Output stages under drive, and stages at rest, against a solution of their own: the laws written anew (`laws-anew.ts`), every
 * sample of the cycle and every plate by bisection, textbook load lines (an ideal transformer: what one plate falls the other rises).
 */
import { describe, expect, test } from "vitest";
import { check } from "../../server/check.ts";
import { crossing, lawAnew } from "./laws-anew.ts";
import { seeded } from "./networks.ts";

const types = [
  ["EL84", "EL84", 300, 10],
  ["EL34", "EL34", 400, 30],
  ["6L6GC", "6L6GC", 400, 35],
  ["6V6GTA", "6V6GT", 300, 18],
  ["KT88", "KT88", 450, 55],
  ["6550A", "6550", 450, 45],
  ["KT66", "KT66", 400, 35],
  ["6F6", "6F6", 300, 22],
  ["6AQ5A", "6AQ5", 250, 14],
] as const;
const samples = 240;
const near = (what: string, got: number, expected: number, within: number) =>
  expect(Math.abs(got / expected - 1), `${what}: ${got} against ${expected}`).toBeLessThan(within);

describe("output stages under drive", () => {
  const random = seeded(1934);
  const between = (low: number, high: number) => Number((low * (high / low) ** random()).toPrecision(3));
  for (const [law, name, volts, bias] of types) {
    for (const single of [false, true]) {
      const hv = between(0.75 * volts, 1.1 * volts);
      const screen = random() < 0.5 ? hv : Number((hv * (0.7 + 0.3 * random())).toPrecision(3));
      const grid = between((0.7 * bias * screen) / volts, (1.25 * bias * screen) / volts);
      const load = between(2500, single ? 8000 : 10000);
      test(`${single ? "one" : "two"} ${name} at ${hv} and ${screen} V, ${grid} V of bias, ${load} ohms`, () => {
        const second = single
          ? ""
          : `NB -- resistor R2 100k 1W -- gB\nvalve V2 ${name} { plate: pB, screen: SC, grid: gB, cathode: gnd }`;
        const plates = single ? `${load}R dcr 0.01R 60mA { pA HT }` : `${load}R dcr 0.01R { pA HT pB }`;
        const [stage] = check(
          "bench",
          `
HT -- source E1 ${hv}V -- gnd
SC -- source E2 ${screen}V -- gnd
gnd -- source E3 ${grid}V -- NB
NB -- resistor R1 100k 1W -- gA
valve V1 ${name} { plate: pA, screen: SC, grid: gA, cathode: gnd }
${second}
output-transformer T1 {
  plates ${plates}
  speaker 8R dcr 0.001R { spk gnd }
}
spk -- resistor R9 8R 100W -- gnd
`,
        ).analysis.drive("nominal");
        const f = lawAnew(law);
        const swing = stage.gridVoltsPeak!;
        const sine = (k: number) => swing * Math.sin((2 * Math.PI * (k + 0.5)) / samples);
        let [amps, screenAmps, plateWatts, power, standing] = [0, 0, 0, 0, f(-grid, screen, hv)[0]];
        // With one valve its average current is the core's, and shifts under drive.
        for (let pass = 0; pass < (single ? 12 : 1); pass++) {
          amps = screenAmps = plateWatts = power = 0;
          for (let k = 0; k < samples; k++) {
            const at = (fall: number) => f(-grid + sine(k), screen, hv - fall);
            const fall = single
              ? crossing((x) => x - (at(x)[0] - standing) * load, -3 * hv, 2 * hv)
              : crossing(
                  (x) => x - ((at(x)[0] - f(-grid - sine(k), screen, hv + x)[0]) * load) / 4,
                  -1.5 * hv,
                  1.5 * hv,
                );
            const [plate, second] = at(fall);
            amps += plate / samples;
            screenAmps += second / samples;
            plateWatts += (plate * (hv - fall)) / samples;
            power += ((single ? 1 : 4) * fall * fall) / load / samples;
          }
          standing = amps;
        }
        const top = stage.levels[stage.levels.length - 1].readings;
        near("power", stage.watts, power, 0.01);
        near("plate current", top.get("V1.plate")!.amps, amps, 0.01);
        near("plate dissipation", top.get("V1.plate")!.watts, plateWatts, 0.01);
        near("screen current", top.get("V1.screen")!.amps, screenAmps, 0.01);
      });
    }
  }
});

describe("stages at rest", () => {
  const random = seeded(1912);
  const between = (low: number, high: number) => Number((low * (high / low) ** random()).toPrecision(3));
  const twins = [
    ["12AX7A", "ECC83"],
    ["12AT7", "ECC81"],
    ["12AU7A", "ECC82"],
    ["6SN7GTB", "6SN7GT"],
    ["12BH7A", "12BH7A"],
    ["6CG7", "6FQ7"],
  ] as const;
  for (const [law, name] of twins) {
    const hv = between(180, 420);
    const [ra, rk, follower] = [between(47e3, 220e3), between(470, 4700), between(33e3, 150e3)];
    test(`${name}: cathode bias ${rk} ohms, ${ra} ohms in the plate, a follower on it`, () => {
      const { circuit, analysis } = check(
        "bench",
        `
HT -- source E1 ${hv}V -- gnd
HT -- resistor R1 ${ra}R 5W -- p
k -- resistor R2 ${rk}R 5W -- gnd
g -- resistor R3 1M 1W -- gnd
f -- resistor R4 ${follower}R 5W -- gnd
valve V1 ${name} {
  a { plate: p, grid: g, cathode: k }
  b { plate: HT, grid: p, cathode: f }
}
`,
      );
      const solution = analysis.solution("idle", "nominal")!;
      const volts = (net: string) => solution.volts[circuit.netByName.get(net)!];
      const a = lawAnew(law, "a");
      const b = lawAnew(law, "b");
      // The first stage's grid stands on its leak; the follower's draws from the plate.
      const drawn = (p: number) => {
        const cathode = crossing(
          (v) => v / follower - b(p - v, 0, hv - v)[0] - b(p - v, 0, hv - v)[2],
          0,
          hv + 20,
        );
        return { cathode, grid: b(p - cathode, 0, hv - cathode)[2] };
      };
      const first = (p: number) => {
        const g = (k: number) => crossing((v) => v / 1e6 + a(v - k, 0, p - k)[2], -5, 5);
        const k = crossing((v) => v / rk - a(g(v) - v, 0, p - v)[0] - a(g(v) - v, 0, p - v)[2], 0, hv);
        return { k, amps: a(g(k) - k, 0, p - k)[0] };
      };
      const p = crossing((v) => first(v).amps + drawn(v).grid - (hv - v) / ra, 0, hv);
      near("plate", volts("p"), p, 1e-5);
      near("cathode", volts("k"), first(p).k, 1e-5);
      near("follower", volts("f"), drawn(p).cathode, 1e-5);
    });
  }
});
