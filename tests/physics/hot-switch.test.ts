/** The peak into empty reservoirs, by hand: what the winding's crest drives through its resistance and the rectifier's perveance. */
import { describe, expect, it } from "vitest";
import { check } from "../../server/check.ts";

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
