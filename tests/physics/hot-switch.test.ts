/** The peak into empty reservoirs, by hand: what the winding's crest drives through its resistance and the rectifier's perveance. */
import { describe, expect, it } from "vitest";
import { check } from "../../server/check.ts";
import type { DiodeLaw } from "../../server/physics/device.ts";
import { rectifierLaw } from "../../server/physics/laws/index.ts";
import { follow, seriesCurrent } from "./supply-odes.ts";

const supply = (more: string) => `mains 230 V 50 Hz
assume mains +0% -0%
transformer T1 200VA {
  primary 230V 0.001R        { l n }
  ht 300-0-300V no-load 150R { a gnd b }
  rect 5V no-load 0.01R      { r s }
}
valve V1 5U4GB { plate1: a, plate2: b, heater: r s, cathode: r }
r -- capacitor C1 40u 500V electrolytic -- gnd
r -- resistor R1 5k 50W 500V -- gnd
${more}`;

/** Amperes where 300 √2 V less the drop stand across 75 Ω; 44 V at 225 mA a plate is the sheet's (GE 5U4GB). */
function byHand(): number {
  const perveance = 0.225 / 44 ** 1.5;
  let [low, high] = [0, 300 * Math.SQRT2];
  while (high - low > 1e-9) {
    const drop = (low + high) / 2;
    if (perveance * drop ** 1.5 < (300 * Math.SQRT2 - drop) / 75) low = drop;
    else high = drop;
  }
  return (300 * Math.SQRT2 - low) / 75;
}

const peaks = (more: string) => {
  const { hotSwitch } = check("hot.ampnet", supply(more)).analysis;
  return ["V1.plate1", "V1.plate2"].map((key) => hotSwitch.get(key) ?? Number.NaN);
};

describe("a rectifier switched on hot", () => {
  it("passes what its winding drives through it into the empty reservoir", () => {
    for (const amps of peaks("")) expect(amps / byHand()).toBeCloseTo(1, 2);
  });
  it("does so beside a bias supply's coupling capacitor too, which is full long before the crest", () => {
    const bias = `b -- capacitor C2 47n 1000V film -- y
y -- diode D1 1N4007 -- gnd
m -- diode D2 1N4007 -- y
gnd -- capacitor C3 47u 100V electrolytic -- m
m -- resistor R2 22k 1W -- gnd
`;
    for (const amps of peaks(bias)) expect(amps / byHand()).toBeCloseTo(1, 2);
  });
});

/** Volts before the choke where two plates, each behind its half of the winding, together carry its current. */
function beforeChoke(law: DiodeLaw, ohms: number, crest: number, amps: number): number {
  let high = Math.abs(crest);
  let low = high - 600;
  for (let k = 0; k < 40; k++) {
    const middle = 0.5 * (low + high);
    const sum = seriesCurrent(law, ohms, crest - middle) + seriesCurrent(law, ohms, -crest - middle);
    if (sum > amps) low = middle;
    else high = middle;
  }
  return 0.5 * (low + high);
}

interface Filter {
  readonly henries: readonly number[];
  readonly ohms: readonly number[];
  readonly farads: readonly number[];
  readonly load: number;
}

/** Highest amperes of the choke in the first cycles, whenever within a cycle the switch closes: integrated by odex. */
function firstPeak(law: DiodeLaw, winding: number, { henries, ohms, farads, load }: Filter): number {
  let most = 0;
  const sections = henries.length;
  // The other half of the cycle is the same with the plates exchanged.
  for (let phase = 0; phase < 10; phase++) {
    const at = phase / 20;
    follow(
      new Array(2 * sections).fill(0),
      (t, x) => {
        const crest = 400 * Math.SQRT2 * Math.sin(2 * Math.PI * (50 * t + at));
        const before = Math.max(beforeChoke(law, winding, crest, Math.max(0, x[0])), -1e3);
        return x.map((_, k) => {
          const section = k % sections;
          if (k < sections) {
            const from = section === 0 ? before : x[sections + section - 1];
            const rate = (from - x[sections + section] - ohms[section] * x[section]) / henries[section];
            return section === 0 && x[0] <= 0 ? Math.max(0, rate) : rate;
          }
          const on = section + 1 < sections ? x[section + 1] : x[k] / load;
          return (x[section] - on) / farads[section];
        });
      },
      { to: 0.08, step: 0.5e-3 },
      (x) => {
        most = Math.max(most, x[0]);
      },
    );
  }
  return most;
}

const chokeInput = (filter: string) => `mains 230 V 50 Hz
assume mains +0% -0%
transformer T1 200VA {
  primary 230V 0.001R        { l n }
  ht 400-0-400V no-load 150R { a gnd b }
  rect 5V no-load 0.01R      { r s }
}
valve V1 5U4GB { plate1: a, plate2: b, heater: r s, cathode: r }
${filter}`;

describe("a rectifier switched on hot before a choke, where the peak comes after the first instant", () => {
  const law = rectifierLaw("5U4GB")!;
  const cases: readonly [string, string, Filter][] = [
    [
      "one section",
      `r -- choke L1 10H 200mA 100R -- HT
HT -- capacitor C1 40u 700V electrolytic -- gnd
HT -- resistor R1 4k 50W 500V -- gnd`,
      { henries: [10], ohms: [100], farads: [40e-6], load: 4000 },
    ],
    [
      "two sections, whose second reservoir is empty too",
      `r -- choke L1 5H 200mA 100R -- HT0
HT0 -- capacitor C1 16u 700V electrolytic -- gnd
HT0 -- choke L2 10H 200mA 150R -- HT
HT -- capacitor C2 47u 700V electrolytic -- gnd
HT -- resistor R1 4k 50W 500V -- gnd`,
      { henries: [5, 10], ohms: [100, 150], farads: [16e-6, 47e-6], load: 4000 },
    ],
  ];
  for (const [name, filter, values] of cases) {
    it(name, () => {
      const expected = firstPeak(law, 75, values);
      const { hotSwitch } = check("hot.ampnet", chokeInput(filter)).analysis;
      for (const key of ["V1.plate1", "V1.plate2"])
        expect(
          Math.abs((hotSwitch.get(key) ?? 0) / expected - 1),
          `${hotSwitch.get(key)} A, ${expected} A`,
        ).toBeLessThan(0.02);
    });
  }
});
