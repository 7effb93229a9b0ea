/** One cause, one finding: what several parts have in common is told once, and what follows from it is marked so. */
import { describe, expect, it } from "vitest";
import { errorOn, findingsOf, missed, told } from "./limits.ts";

const grave = (text: string) =>
  findingsOf(text)
    .filter(({ severity }) => severity === "error" || severity === "warning")
    .map(({ rule, follows }) => (follows ? `${rule} <- ${follows}` : rule));

/** Two EL84 on a winding, with what sets their bias. */
const pair = (bias: string, types = ["EL84", "EL84"]) => `mains 230 V 50 Hz UK
transformer T1 60VA {
  primary 230V 14R         { a b }
  ht 230-0-230V 90mA 150R  { x gnd y }
}
x -- diode D1 1N4007 -- HT
y -- diode D2 1N4007 -- HT
HT -- capacitor C1 47u 450V electrolytic -- gnd
HT -- resistor R1 220k 2W 500V -- gnd
HT -- resistor R2 1k 2W -- s1
HT -- resistor R3 1k 2W -- s2
valve V1 ${types[0]} { plate: p1, screen: s1, grid: g1, cathode: k }
valve V2 ${types[1]} { plate: p2, screen: s2, grid: g2, cathode: k }
g1 -- resistor R4 470k 0.5W -- bias
g2 -- resistor R5 470k 0.5W -- bias
${bias}
output-transformer T2 20W { plates 8k 300R { p1 HT p2 }, speaker 8R { gnd spk } }
spk -- speaker LS1 8R 30W -- gnd
`;

describe("a pair without bias", () => {
  const found = findingsOf(pair("bias -- wire -- gnd\nk -- resistor R6 1R 1W -- gnd"));
  it("is told once for both, and leads what it overloads", () => {
    const own = found.filter(({ rule }) => rule === "valve/bias-missing");
    expect(own).toHaveLength(1);
    expect(own[0].on).toEqual(expect.arrayContaining(["V1", "V2"]));
    // A resistor to measure across is no bias resistor: nobody is told that it is too small.
    expect(own[0].message).toContain("No negative supply comes to the grid");
    const winding = found.find(({ rule }) => rule === "supply/winding-current");
    expect(winding?.follows).toBe("valve/bias-missing");
    expect(found.filter(({ rule, follows }) => follows === "valve/plate-dissipation" && rule)).toEqual([]);
  });
});

describe("a valve of no known type", () => {
  it("has no balance held against it, and leads what its current is missing from", () => {
    const found = findingsOf(pair("bias -- wire -- gnd\nk -- resistor R6 130R 5W -- gnd", ["EL84", "EL8X"]));
    expect(found.filter(({ rule }) => rule === "valve/pair-imbalance")).toEqual([]);
    const unknown = found.filter(({ severity, on }) => severity === "unchecked" && on.includes("V2"));
    expect(unknown.map(({ message }) => message).join()).toContain("no data is held for its type");
    expect(unknown.map(({ message }) => message).join()).not.toContain("no limit is published");
    const hot = found.find(({ rule }) => rule === "valve/plate-dissipation");
    expect(hot?.follows).toBe("circuit/unknown-type");
  });
});

describe("a slip in one net's name", () => {
  it("is told first, and the open grid behind it", () => {
    const text = pair("bias -- wire -- gnd\nk -- resistor R6 180R 5W -- gnd").replace(
      "g1 -- resistor R4 470k 0.5W -- bias",
      "g1 -- resistor R4 470k 0.5W -- bais",
    );
    expect(grave(text)).toContain("valve/grid-open <- circuit/single-use-net");
  });
});

describe("electrolytics behind a diode that is the wrong way round", () => {
  const supply = (diode: string, more = "") => `mains 230 V 50 Hz UK
transformer T1 20VA {
  primary 230V 40R   { a b }
  bias 50V 50mA 20R  { w gnd }
}
${diode}
gnd -- capacitor C1 47u 100V electrolytic -- n1
n1 -- resistor R1 2k2 1W -- n2
gnd -- capacitor C2 47u 100V electrolytic -- n2
n2 -- resistor R2 47k 0.5W -- gnd
${more}`;
  const rule = "rating/capacitor-reverse";
  it("are told together, and the diode named", () => {
    const found = told(supply("w -- diode D1 1N4007 -- n1"), rule, "C1");
    expect(found).toHaveLength(1);
    expect(found[0].on).toEqual(["C1", "C2"]);
    expect(found[0].message).toContain("Turn them round, or D1 that feeds them.");
    expect(told(supply("n1 -- diode D1 1N4007 -- w"), rule, "C1")).toEqual([]);
  });
  it("are to be turned alone where another on the chain is right", () => {
    const text = supply("n1 -- diode D1 1N4007 -- w").replace(
      "gnd -- capacitor C2 47u 100V electrolytic -- n2",
      "n2 -- capacitor C2 47u 100V electrolytic -- gnd",
    );
    const [found] = told(text, rule, "C2");
    expect(found.on).toEqual(["C2"]);
    expect(found.message).toContain("Turn it round.");
  });
});

describe("heaters that are lifted too far", () => {
  it("are one finding, led by the valve that is furthest over", () => {
    const text = `source B1 300V { plus: HT, minus: gnd }
source B2 150V { plus: h1, minus: gnd }
source B3 6.3V { plus: h2, minus: h1 }
valve V1 ECC83 { a { plate: p1, grid: g1, cathode: k1 } heater: h1 h2 parallel }
valve V2 EL84 { plate: HT, screen: HT, grid: g2, cathode: k2, heater: h1 h2 }
HT -- resistor R1 100k 1W 500V -- p1
g1 -- resistor R2 1M 0.5W -- gnd
k1 -- resistor R3 1k5 0.5W -- gnd
g2 -- resistor R4 470k 0.5W -- gnd
k2 -- resistor R5 270R 5W -- gnd
`;
    const found = findingsOf(text).filter(({ rule }) => rule === "valve/heater-cathode");
    expect(found).toHaveLength(1);
    expect(found[0].on).toEqual(expect.arrayContaining(["V1", "V2"]));
  });
});

describe("a rectifier whose cathode is joined to its heater inside", () => {
  const supply = (type: string, heater: string, winding: string) => `mains 230 V 50 Hz UK
transformer T1 120VA {
  primary 230V 12R         { a b }
  ht 250-0-250V 120mA 150R { x gnd y }
  r 5V 3A 0.1R             ${winding}
}
valve V1 ${type} { plate1: x, plate2: y, ${heater}, cathode: HT }
HT -- capacitor C1 32u 450V electrolytic -- gnd
HT -- resistor R1 5k 50W wirewound -- gnd
`;
  const rule = "valve/heater-cathode";
  it.each(["GZ34", "5U4GB", "5V4GA"])("finds a %s on a winding that common holds", (type) => {
    expect(errorOn(supply(type, "heater: r1 gnd", "{ r1 gnd }"), rule, "V1")?.message).toContain(
      "inside the bulb",
    );
  });
  it.each(["GZ34", "5U4GB", "5V4GA"])(
    "passes a %s with a winding of its own, and does not call it floating",
    (type) => {
      const text = supply(type, "heater: r1 r2", "{ r1 r2 }");
      expect(told(text, rule, "V1")).toEqual([]);
      expect(told(text, "valve/heater-floating", "V1")).toEqual([]);
    },
  );
});

describe("heaters on one rectified supply", () => {
  it("stand off together: one finding", () => {
    const text = `source B1 7V { plus: h1, minus: h2 }
h2 -- resistor R9 100R 0.5W -- gnd
source B2 250V { plus: HT, minus: gnd }
${[1, 2, 3]
  .map(
    (n) => `valve V${n} ECC83 { a { plate: p${n}, grid: g${n}, cathode: k${n} } heater: h1 h2 parallel }
HT -- resistor R${n}1 100k 1W 500V -- p${n}
g${n} -- resistor R${n}2 1M 0.5W -- gnd
k${n} -- resistor R${n}3 1k5 0.5W -- gnd`,
  )
  .join("\n")}
`;
    const found = findingsOf(text).filter(({ rule }) => rule === "valve/heater-voltage");
    expect(found).toHaveLength(1);
    expect(found[0].message).toContain("V2 and V3 hang on the same volts");
  });
});

describe("two sections of one bottle with the same fault", () => {
  it("are told as one", () => {
    const text = `source B1 250V { plus: HT, minus: gnd }
valve V1 6DJ8 { a { plate: HT, grid: g1, cathode: k1 }  b { plate: HT, grid: g2, cathode: k2 } }
k1 -- resistor R1 3k3 2W -- gnd
k2 -- resistor R2 3k3 2W -- gnd
g1 -- resistor R3 1M 0.5W -- gnd
g2 -- resistor R4 1M 0.5W -- gnd
`;
    const found = told(text, "valve/plate-voltage", "V1");
    expect(found).toHaveLength(1);
    expect(found[0].message).toContain("V1.b the same");
  });
});

describe("a string of capacitors that nothing shares the volts in", () => {
  it("has no volts made up for it", () => {
    const text = `source B1 460V { plus: a, minus: gnd }
a -- capacitor C1 220u 350V electrolytic -- m -- capacitor C2 220u 350V electrolytic -- gnd
a -- resistor R1 220k 3W 600V -- gnd
`;
    expect(told(text, "rating/series-capacitors", "C1")).toHaveLength(1);
    expect(told(text, "rating/capacitor-voltage", "C1")).toEqual([]);
    expect(missed(text, "C1")).toContain("the volts across it are not known");
  });
});

describe("a file without a mains line", () => {
  it("is told what is taken for it", () => {
    expect(
      missed("source B1 9V { plus: a, minus: gnd }\na -- resistor R1 1k 0.5W -- gnd\n", "mains"),
    ).toContain("230 V 50 Hz are taken");
  });
});

describe("two rectifiers on the same winding", () => {
  it("have their supply impedance told once", () => {
    const text = `mains 230 V 50 Hz UK
transformer T1 200VA {
  primary 230V 5R        { a b }
  ht 320-0-320V 200mA 90R { x gnd y }
}
x -- resistor R1 22R 5W -- x1
x -- resistor R2 22R 5W -- x2
y -- resistor R3 22R 5W -- y1
y -- resistor R4 22R 5W -- y2
valve V1 EZ81 { plate1: x1, plate2: y1, cathode: HT }
valve V2 EZ81 { plate1: x2, plate2: y2, cathode: HT }
HT -- capacitor C1 47u 500V electrolytic -- gnd
HT -- resistor R5 3k3 100W wirewound -- gnd
`;
    const found = findingsOf(text).filter(({ rule }) => rule === "supply/plate-impedance");
    expect(found).toHaveLength(1);
    expect(found[0].message).toContain("V2 the same");
  });
});

describe("a reading that would ask for other copper", () => {
  it("is not explained by a winding", () => {
    const text = `mains 230 V 50 Hz UK
transformer T1 60VA {
  primary 230V 14R         { a b }
  ht 230-0-230V 90mA 150R  { x gnd y }
}
x -- diode D1 1N4007 -- HT
y -- diode D2 1N4007 -- HT
HT -- capacitor C1 47u 450V electrolytic -- gnd
HT -- resistor R1 4k7 50W wirewound -- gnd
measured HT 240V at mains 230V
`;
    const [found] = told(text, "bench/reading", "HT");
    expect(found.message).not.toContain("T1");
  });
});

describe("a value that is lost", () => {
  it("leads what hangs in the air for want of it", () => {
    const text = pair("bias -- wire -- gnd\nk -- resistor R6 180R 5W -- gnd").replace(
      "s1\nHT -- resistor R3 1k 2W",
      "s1\nHT -- resistor R3 1kF 2W",
    );
    expect(grave(text)).toContain("circuit/unit");
    expect(grave(text).filter((rule) => /^(circuit\/no-dc-path|valve\/pair-imbalance)$/.test(rule))).toEqual(
      [],
    );
  });
});

describe("two types in one pair", () => {
  it("are told as such", () => {
    const [found] = told(
      pair("bias -- wire -- gnd\nk -- resistor R6 300R 5W -- gnd", ["EL84", "6V6GTA"]),
      "valve/pair-imbalance",
      "V1",
    );
    expect(found.message).toContain("They are of different types (EL84 and 6V6GTA)");
  });
});

describe("a choke input that nothing loads before the valves are warm", () => {
  it("leads what its rise passes: no second cause is named", () => {
    const text = `mains 230 V 50 Hz UK
transformer T1 200VA {
  primary 230V 4R         { a b }
  ht 440-0-440V 200mA 60R { x gnd y }
  r 5V 3A 0.05R           { k f }
}
valve V1 5U4GB { plate1: x, plate2: y, heater: k f, cathode: k }
k -- choke L1 10H 250mA 60R -- HT
${[1, 2, 3, 4].map((n) => `HT -- capacitor C${n} 22u 500V electrolytic -- gnd`).join("\n")}
HT -- resistor R1 470k 3W 1kV -- gnd
HT -- resistor R2 220R 5W -- s
valve V2 EL34 { plate: HT, screen: s, suppressor: c, grid: g, cathode: c }
g -- resistor R3 470k 0.5W -- gnd
c -- resistor R4 560R 10W -- gnd
`;
    const rules = findingsOf(text).map(({ rule }) => rule);
    expect(rules).toContain("supply/unloaded");
    expect(rules).not.toContain("circuit/common-cause");
    expect(grave(text)).toContain("rating/capacitor-voltage <- supply/unloaded");
  });
});

describe("a supply too high for many", () => {
  it("is told with the volts that would keep them, and one part that is wrong by itself stands apart", () => {
    const text = (volts: number) => `source B1 600V { plus: HT, minus: gnd }
${[1, 2, 3, 4].map((n) => `HT -- capacitor C${n} 100n 400V film -- gnd`).join("\n")}
HT -- resistor R1 470k 3W ${volts}V 0% -- gnd
`;
    const [apart] = told(text(250), "circuit/common-cause", "B1");
    expect(apart.message).toContain("About 400 V there would keep all but R1;");
    const [together] = told(text(390), "circuit/common-cause", "B1");
    expect(together.message).toContain("About 390 V there would keep them all;");
  });
  it("names a winding by its half, with a bias tap beside the middle too", () => {
    const text = (volts: string, nets: string) => `transformer T1 60VA {
  primary 230V 15R { l n }
  ht ${volts} no-load 100R { ${nets} }
}
a -- diode D1 1N4007 -- HT
b -- diode D2 1N4007 -- HT
${[1, 2, 3, 4].map((n) => `HT -- capacitor C${n} 4u7 400V film -- gnd`).join("\n")}
HT -- resistor R1 100k 20W 750V -- gnd
`;
    for (const [volts, nets] of [
      ["330-0-330V", "a gnd b"],
      ["330-0-50-330V", "a gnd bias b"],
    ]) {
      const [found] = told(text(volts, nets), "circuit/common-cause", "T1");
      expect(found.message).toContain("behind T1.ht of 330 V a half");
    }
  });
});

describe("a section that stands on another", () => {
  it("is not taken for grid-leak bias", () => {
    const text = `source B1 250V { plus: HT, minus: gnd }
valve V1 6DJ8 { a { plate: m, grid: g1, cathode: k1 } b { plate: p, grid: gu, cathode: m } }
HT -- resistor R1 33k 2W -- p
HT -- resistor R2 220k 0.5W 350V -- gu -- resistor R3 100k 0.5W 350V -- gnd
k1 -- resistor R4 390R 0.5W -- gnd
g1 -- resistor R5 470k 0.5W -- gnd
`;
    expect(missed(text, "V1")).not.toContain("grid-leak");
    expect(told(text, "valve/bias-missing", "V1")).toEqual([]);
  });
});

describe("a leaking coupling capacitor, written as a resistor", () => {
  it("is pointed at where the bias is missing", () => {
    const text = `source B1 300V { plus: HT, minus: gnd }
HT -- resistor R1 22k 2W -- p1
p1 -- resistor R2 220k 1W 500V -- gnd
p1 -- resistor R3 470k 0.5W 350V -- g
g -- resistor R4 470k 0.5W -- gnd
valve V1 EL84 { plate: HT, screen: HT, grid: g, cathode: k }
k -- resistor R5 220R 10W -- gnd
`;
    const [found] = told(text, "valve/bias-missing", "V1");
    expect(found.related.find(({ on }) => on === "R3")?.message).toMatch(/^R3 comes from p1, \d+ V$/);
  });
});

describe("a doubler that is asked for too much", () => {
  it("is one finding, with its load and its ripple behind", () => {
    const text = `mains 230 V 50 Hz EU
transformer T1 50VA {
  primary 230V 40R   { a b }
  ht 115V 400mA 12R  { x y }
}
x -- diode D1 1N4007 -- B
gnd -- diode D2 1N4007 -- x
B -- capacitor C1 100u 250V electrolytic -- y
y -- capacitor C2 100u 250V electrolytic -- gnd
B -- resistor R1 100k 2W 250V -- y
y -- resistor R2 100k 2W 250V -- gnd
B -- resistor R3 1k 300W -- gnd
`;
    const found = findingsOf(text).filter(({ rule }) => /winding-current|transformer-load|ripple/.test(rule));
    expect(found.map(({ rule, follows }) => `${rule} <- ${follows ?? ""}`).sort()).toEqual([
      "supply/ripple <- supply/winding-current",
      "supply/transformer-load <- supply/winding-current",
      "supply/winding-current <- ",
    ]);
  });
});
