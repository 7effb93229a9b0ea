/** Direct volts on what can be touched: IEC 62368-1, class ES1, 60 V or 2 mA; dividers by Ohm's law. */
import { describe, expect, it } from "vitest";
import { told } from "../limits.ts";

const RULE = "earth/touch-voltage";
/** A divider of 60 V, moved by the lower resistor; its source resistance is far below 30 kΩ. */
const divider = (volts: number) => `source B1 ${volts}V { plus: HT, minus: gnd }
HT -- resistor R1 1k 10W 350V 0% -- t
t -- resistor R2 1k 10W 350V 0% -- gnd
jack J1 { tip: t, sleeve: gnd }
`;

describe(RULE, () => {
  it("holds a contact to 60 V", () => {
    expect(told(divider(119.9), RULE, "J1")).toEqual([]);
    const [found] = told(divider(120.1), RULE, "J1");
    expect(found.severity).toBe("error");
    expect(found.value).toBeCloseTo(60.05, 3);
    expect(found.message).toContain("J1's tip stands at 60");
  });

  it("takes either sign, ring and sleeve, and a panel", () => {
    const rest = "source B1 100V { plus: gnd, minus: n }\nsource B2 300V { plus: HT, minus: gnd }\n";
    expect(told(`${rest}jack J1 { tip: n, sleeve: gnd }\n`, RULE, "J1")).toHaveLength(1);
    expect(told(`${rest}jack J1 { tip: x, ring: HT, sleeve: gnd }\n`, RULE, "J1")).toHaveLength(1);
    expect(told(`${rest}metal panel\npanel -- wire W1 -- HT\n`, RULE, "panel")).toHaveLength(1);
  });

  it("is quiet where 2 mA at most comes of it", () => {
    const fed = (ohms: string) => `source B1 300V { plus: HT, minus: gnd }
HT -- resistor R1 ${ohms} 2W 500V 0% -- t
jack J1 { tip: t, sleeve: gnd }
t -- capacitor C1 10n 630V film -- gnd
`;
    // 300 V over 151 kΩ is 1.99 mA, over 149 kΩ 2.01 mA.
    expect(told(fed("151k"), RULE, "J1")).toEqual([]);
    expect(told(fed("149k"), RULE, "J1")).toHaveLength(1);
  });
});
