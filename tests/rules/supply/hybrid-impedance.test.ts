import { expect, test } from "vitest";
import { check } from "../../../server/check.ts";

/** Above, the plates of a 6X4; below, silicon from common; the tap gives half the volts. */
const hybrid = (winding: string): string => `amp "Hybrid bridge"
mains 230 V 50 Hz
transformer T1 70VA {
  primary 230V 26R { l n }
  ht ${winding}
  h 6.3V 2A 0.1R { h1 gnd }
}
valve V5 6X4 { plate1: a, plate2: c, cathode: HT, heater: h1 gnd }
gnd -- diode D1 1N4007 -- a
gnd -- diode D2 1N4007 -- c
HT -- capacitor C1 10u 450V electrolytic -- gnd
HT -- resistor R1 12k 50W wirewound 900V -- gnd
`;
const tap = `ct -- resistor R4 100R 2W -- HALF
HALF -- capacitor C2 47u 250V electrolytic -- gnd
HALF -- resistor R2 22k 10W 500V -- gnd
`;
const told = (text: string) =>
  check("hybrid.ampnet", text).findings.find(({ rule }) => rule === "supply/plate-impedance")?.message;

test("a plate of a hybrid bridge works through the whole winding, whatever its tap feeds", () => {
  const plain = told(hybrid("280V 150mA 90R { a c }"));
  expect(plain).toContain("at 294 V rms");
  expect(told(hybrid("140-0-140V 150mA 90R { a ct c }") + tap)).toBe(plain);
});

test("a valve below, its plates on common, is held to no other winding that comes to common", () => {
  const { findings } = check(
    "hybrid.ampnet",
    `amp "Valves above and below"
mains 230 V 50 Hz
transformer T1 70VA {
  primary 230V 26R { l n }
  ht 280V 150mA 90R { a c }
  other 250V 50mA 60R { x gnd }
  h 6.3V 2A 0.1R { h1 gnd }
  low 6.3V 1A 0.2R { u1 a }
}
valve V5 6X4 { plate1: a, plate2: c, cathode: HT, heater: h1 gnd }
valve V6 6X4 { plate1: gnd, plate2: gnd, cathode: a, heater: u1 a }
gnd -- diode D2 1N4007 -- c
x -- resistor R9 47k 5W 500V -- gnd
HT -- capacitor C1 10u 450V electrolytic -- gnd
HT -- resistor R1 12k 50W wirewound 900V -- gnd
`,
  );
  const told = findings.filter(
    ({ rule, severity }) => rule === "supply/plate-impedance" && severity !== "unchecked",
  );
  expect(told.map(({ on }) => on[0])).toEqual(["V5"]);
  const open = findings.find(({ severity, on }) => severity === "unchecked" && on[0] === "V6");
  expect(open?.message).toContain("its plates are on common");
});
