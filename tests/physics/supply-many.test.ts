/** Many supplies in one file: each gives what it gives alone (the closed form of a share: they have nothing to do with one another). */
import { expect, test } from "vitest";
import { parse } from "../../grammar/parse.ts";
import { buildCircuit } from "../../server/circuit/build.ts";
import { analyse } from "../../server/physics/analyse.ts";

const supply = (n: number): string => `
transformer T${n} 100VA {
  primary 230V 8R { a${n} b${n} }
  ht 250-0-250V 120mA 150R { x${n} gnd y${n} }
  rect 5V 2A { f${n} e${n} }
}
valve V${n} GZ34 { plate1: x${n}, plate2: y${n}, cathode: f${n}, heater: f${n} e${n} }
f${n} -- capacitor C${n} 32u 450V electrolytic -- gnd
f${n} -- resistor R${n} 4k7 50W -- gnd
f${n} -- resistor S${n} 1k 5W -- h${n} -- capacitor D${n} 32u 450V electrolytic -- gnd
h${n} -- resistor U${n} 22k 10W -- gnd
valve W${n} ECC83 { a { plate: p${n}, grid: gnd, cathode: k${n} } }
h${n} -- resistor Y${n} 100k 1W -- p${n}
k${n} -- resistor Z${n} 1k5 1W -- gnd
`;

function volts(count: number): readonly number[] {
  let text = "mains 230V 50Hz\n";
  for (let n = 0; n < count; n++) text += supply(n);
  const { circuit } = buildCircuit("many", text, parse(text));
  const analysis = analyse(circuit);
  const found: number[] = [];
  for (const state of ["idle", "cold"] as const) {
    const solution = analysis.solution(state, "nominal")!;
    expect(solution.solved, `${count} supplies, ${state}`).toBe(true);
    for (let n = 0; n < count; n++) {
      for (const net of ["f", "h", "p"]) found.push(solution.volts[circuit.netByName.get(`${net}${n}`)!]);
    }
  }
  return found;
}

test("thirty supplies stand as one does", () => {
  const one = volts(1);
  expect(one[0]).toBeGreaterThan(250);
  const count = 30;
  volts(count).forEach((found, k) => {
    const alone = one[k < 3 * count ? k % 3 : 3 + (k % 3)];
    expect(Math.abs(found - alone)).toBeLessThan(1e-3 * Math.abs(alone) + 1e-3);
  });
});
