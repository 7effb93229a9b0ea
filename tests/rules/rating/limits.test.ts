/** Ratings of passive parts at their edges. Values by Ohm's law from sources and resistors without tolerance. */
import { describe, expect, it } from "vitest";
import { analysisOf, errorOn, findingsOf, holdsAt, missed, told } from "../limits.ts";

describe("rating/capacitor-voltage", () => {
  it("holds a film capacitor to its rating", () => {
    holdsAt({
      rule: "rating/capacitor-voltage",
      on: "C1",
      limit: 400,
      text: (volts) => `source B1 ${volts}V { plus: a, minus: gnd }
a -- resistor R1 1k 1W 0% -- b -- capacitor C1 100n 400V film -- gnd
b -- resistor R2 1G 1W 1kV 0% -- gnd
`,
      tells: (volts) => volts / (1 + 1e3 / 1e9),
    });
  });

  // The valve brings the net down when it is warm, so that only the cold start is past the rating.
  const coldStart = (volts: number, rating: string) => `source B1 ${volts}V { plus: a, minus: gnd }
a -- resistor R1 10k 20W wirewound 0% -- HT
valve V1 EL34 { plate: HT, screen: HT, grid: g, cathode: k }
g -- resistor R2 100k 0.5W -- gnd
k -- resistor R3 470R 5W wirewound -- gnd
HT -- capacitor C1 10u ${rating} -- gnd
`;
  it("takes an unused section, tied to common, for no stage that could draw nothing", () => {
    const text = `source B1 300V { plus: HT, minus: gnd }
HT -- resistor R1 1M 1W 500V 0% -- m -- resistor R2 100k 0.5W 0% -- gnd
m -- capacitor C1 1u 100V film -- gnd
HT -- resistor R6 1M 1W 500V -- x -- resistor R7 1M 1W 500V -- gnd
valve V2 ECC83 { a { plate: p, grid: g, cathode: k } b { plate: gnd, grid: gnd, cathode: gnd } }
HT -- resistor R3 100k 1W 500V -- p
g -- resistor R4 1M 0.5W -- gnd
k -- resistor R5 1k5 0.5W -- gnd
`;
    // 300 V divided by 11 stands across it; x, at 150 V, has a resistor to common too.
    expect(told(text, "rating/capacitor-voltage", "C1")).toEqual([]);
    const tight = text.replace("100V film", "25V film");
    expect(errorOn(tight, "rating/capacitor-voltage", "C1")?.value).toBeCloseTo(300 / 11, 3);
  });

  it("holds an electrolytic to 1.10 of its rating in cold start above 315 V (IEC 60384-4, from memory)", () => {
    holdsAt({
      rule: "rating/capacitor-voltage",
      on: "C1",
      limit: 495,
      text: (volts) => coldStart(volts, "450V electrolytic"),
      state: "cold",
    });
    const inside = told(coldStart(480, "450V electrolytic"), "rating/capacitor-voltage", "C1");
    expect(inside.map((finding) => finding.severity)).toEqual(["advice"]);
    expect(told(coldStart(449, "450V electrolytic"), "rating/capacitor-voltage", "C1")).toEqual([]);
  });
  it("holds it to 1.15 up to 315 V", () => {
    holdsAt({
      rule: "rating/capacitor-voltage",
      on: "C1",
      limit: 1.15 * 300,
      text: (volts) => coldStart(volts, "300V electrolytic"),
      state: "cold",
    });
  });
  it("takes the surge voltage that is written", () => {
    holdsAt({
      rule: "rating/capacitor-voltage",
      on: "C1",
      limit: 550,
      text: (volts) => coldStart(volts, "450V surge 550V electrolytic"),
      state: "cold",
    });
  });
  it("gives a film capacitor no surge voltage", () => {
    expect(errorOn(coldStart(410, "400V film"), "rating/capacitor-voltage", "C1")?.state).toBe("cold");
  });
  it("holds it to its rating where the cold volts stay", () => {
    const text = `source B1 460V { plus: a, minus: gnd }
a -- resistor R1 1k 1W 0% -- b -- capacitor C1 10u 450V electrolytic -- gnd
`;
    expect(errorOn(text, "rating/capacitor-voltage", "C1")).toBeDefined();
  });
  it("is held in standby, ahead of the switch", () => {
    const text = `source B1 500V { plus: a, minus: gnd }
a -- resistor R1 10k 20W wirewound -- HT0
HT0 -- capacitor C1 10u 450V electrolytic -- gnd
HT0 -- switch S1 standby dc 600V 3A -- HT
HT -- resistor R2 40k 20W wirewound 700V -- gnd
`;
    const found = errorOn(text, "rating/capacitor-voltage", "C1");
    expect(found?.state).toBe("standby");
    expect(found?.value).toBeCloseTo(500, 3);
  });
  it("warns when the stage ahead of a coupling capacitor stops drawing", () => {
    // 250 V on the plate, 350 V when the valve draws nothing; behind a rectifier that warms with it.
    const text = (rating: string) => `mains 230 V 50 Hz NZ
transformer T1 30VA {
  primary 230V 60R             { a b }
  ht      220-0-220V 30mA 600R { htA gnd htB }
}
valve V9 EZ80 { plate1: htA, plate2: htB, cathode: HT }
HT -- capacitor C9 16u 500V electrolytic -- gnd
HT -- resistor R9 47k 5W 500V -- gnd
HT -- resistor R1 100k 1W 500V -- p1
valve V1 ECC83 { a { plate: p1, grid: g1, cathode: k1 } }
g1 -- resistor R2 1M 0.5W -- gnd
k1 -- resistor R3 1k5 0.5W -- gnd
p1 -- capacitor C1 22n ${rating} film -- g2 -- resistor R4 1M 0.5W -- gnd
`;
    const [found] = told(text("250V"), "rating/capacitor-voltage", "C1");
    expect(found?.severity).toBe("warning");
    expect(found?.message).toContain("V1.a drawing nothing");
    expect(told(text("630V"), "rating/capacitor-voltage", "C1")).toEqual([]);
  });
  it("keeps nine tenths of an electrolytic's rating, or what the file says", () => {
    const text = (volts: number, assume = "") => `${assume}
source B1 ${volts}V { plus: a, minus: gnd }
a -- resistor R1 1k 1W 0% -- b -- capacitor C1 10u 450V electrolytic -- gnd
`;
    const severities = (value: string) =>
      told(value, "rating/capacitor-voltage", "C1").map((finding) => finding.severity);
    expect(severities(text(404))).toEqual([]);
    expect(severities(text(406))).toEqual(["warning"]);
    expect(severities(text(406, "assume derate capacitor 95%"))).toEqual([]);
    expect(severities(text(380, "assume derate capacitor 80%"))).toEqual(["warning"]);
    expect(
      findingsOf(text(406), { margins: { capacitor: 0.95 } }).filter((f) => f.rule.startsWith("rating/cap")),
    ).toEqual([]);
  });
  it("tells a capacitor without a rating as unchecked, not as passed", () => {
    const text = `source B1 300V { plus: a, minus: gnd }
a -- resistor R1 1k 1W -- b -- capacitor C1 10n film -- gnd
`;
    expect(missed(text, "C1")).toContain("working voltage");
  });
  it("offers the next standard rating, tried before it is offered", () => {
    const text = `source B1 440V { plus: a, minus: gnd }
a -- resistor R1 1k 1W 0% -- b -- capacitor C1 22n 400V film -- gnd
`;
    expect(errorOn(text, "rating/capacitor-voltage", "C1")?.fix?.edits[0].text).toBe("630V");
  });
});

describe("rating/capacitor-reverse", () => {
  it("allows a volt the wrong way", () => {
    holdsAt({
      rule: "rating/capacitor-reverse",
      on: "C1",
      limit: 1,
      text: (volts) => `source B1 ${volts}V { plus: a, minus: gnd }
a -- resistor R1 1k 1W 0% -- b
gnd -- capacitor C1 47u 63V electrolytic -- b
`,
      step: 0.01,
    });
  });
});

describe("rating/series-capacitors", () => {
  const string = (balance: string) => `source B1 500V { plus: a, minus: gnd }
a -- resistor R1 1k 1W -- HT
HT -- capacitor C1 47u 350V electrolytic -- mid -- capacitor C2 47u 350V electrolytic -- gnd
${balance}
`;
  it("asks for resistors across both", () => {
    expect(errorOn(string(""), "rating/series-capacitors", "C1")).toBeDefined();
    expect(
      errorOn(
        string("HT -- resistor R2 150k 3W 500V -- mid -- resistor R3 150k 3W 500V -- gnd"),
        "rating/series-capacitors",
        "C1",
      ),
    ).toBeUndefined();
  });
  it("offers them, tried before it offers", () => {
    const fix = errorOn(string(""), "rating/series-capacitors", "C1")?.fix;
    expect(fix?.edits[0].text).toMatch(/resistor R2 \d+k 3W metal-oxide \d+V -- mid/);
  });
  // One charge through both: V = Q / C. 47 µF and 150 µF share as 150 to 47.
  const unlike = (
    volts: number,
    small = "47u",
    balance = "150k",
  ) => `source B1 ${volts}V { plus: a, minus: gnd }
a -- resistor R1 1R 10W 0% -- HT
HT -- capacitor C1 ${small} 350V electrolytic -- mid -- capacitor C2 150u 350V electrolytic -- gnd
HT -- resistor R2 ${balance} 5W 500V 0% -- mid -- resistor R3 ${balance} 5W 500V 0% -- gnd
`;
  it("holds unlike ones to the share that they charge to", () => {
    holdsAt({
      rule: "rating/series-capacitors",
      on: "C1",
      // 350 V and the tenth on it that IEC 60384-4 allows for a surge.
      limit: 385,
      text: (share) => unlike((share * (47 + 150)) / 150),
      // The bleed through the resistor of 1 Ω takes some millivolts.
      tells: (share) => share / (1 + 1 / 300e3),
    });
    const [found] = told(unlike(600, "150n"), "rating/series-capacitors", "C1");
    expect(found.message).toMatch(
      /C1 of 150 nF and C2 of 150 µF .* C1 takes 599 V .*look at the decade of C1/,
    );
    expect(found.severity).toBe("error");
  });
  it("passes alike ones, ones on low resistors, and counts what stands beside them", () => {
    expect(told(unlike(600, "150u"), "rating/series-capacitors", "C1")).toEqual([]);
    // 500 Ω of 197 µF: a tenth of a second.
    expect(told(unlike(600, "47u", "1k"), "rating/series-capacitors", "C1")).toEqual([]);
    const helped = `${unlike(600, "47u")}HT -- capacitor C3 100u 350V electrolytic -- mid\n`;
    expect(told(helped, "rating/series-capacitors", "C1")).toEqual([]);
  });
  it("is quiet on a doubler, whose midpoint the winding fixes", () => {
    const text = `transformer T1 30VA {
  primary 230V 60R    { a b }
  ht      120V 200mA 20R { x mid }
}
x -- diode D1 1N4007 -- HT
gnd -- diode D2 1N4007 -- x
HT -- capacitor C1 47u 250V electrolytic -- mid -- capacitor C2 47u 250V electrolytic -- gnd
HT -- resistor R1 22k 20W 500V -- gnd
`;
    expect(told(text, "rating/series-capacitors", "C1")).toEqual([]);
  });
});

describe("rating/resistor-power", () => {
  const text = (volts: number, facts = "1W metal-film", assume = "") => `${assume}
source B1 ${volts}V { plus: a, minus: gnd }
a -- resistor R1 10k ${facts} 350V 0% -- gnd
`;
  it("holds V²/R to the watts", () => {
    holdsAt({
      rule: "rating/resistor-power",
      on: "R1",
      limit: 1,
      text: (watts) => text(Math.sqrt(watts * 10e3)),
    });
  });
  it("keeps half of it, or what the file says", () => {
    const severity = (watts: number, assume?: string) =>
      told(text(Math.sqrt(watts * 10e3), undefined, assume), "rating/resistor-power", "R1").map(
        (finding) => finding.severity,
      );
    expect(severity(0.499)).toEqual([]);
    expect(severity(0.501)).toEqual(["warning"]);
    expect(severity(0.501, "assume derate resistor 70%")).toEqual([]);
    expect(severity(0.301, "assume derate resistor 30%")).toEqual(["warning"]);
  });
  it("derates for ambient: a film part at 100 °C keeps 65 % (makers' sheets: 70 °C to 155 °C)", () => {
    holdsAt({
      rule: "rating/resistor-power",
      on: "R1",
      limit: (155 - 100) / (155 - 70),
      text: (watts) => text(Math.sqrt(watts * 10e3), "1W metal-film", "assume ambient 100C"),
    });
  });
  it("takes the part's tolerance into the worst", () => {
    const five = `source B1 100V { plus: a, minus: gnd }
a -- resistor R1 10k 1W metal-film 350V 5% -- gnd
`;
    const found = errorOn(five, "rating/resistor-power", "R1");
    expect(found?.value).toBeCloseTo(1.05, 2);
  });
});

describe("rating/resistor-voltage", () => {
  it("holds the lowest published working voltage of the size: 350 V for 2 W (makers' sheets give 350 to 500)", () => {
    const bound = told(
      `source B1 1kV { plus: a, minus: gnd }
a -- resistor R1 10M 0.5W metal-film 0% -- gnd
`,
      "rating/resistor-voltage",
      "R1",
    )[0]?.limit;
    // Lowest in the column of half-watt metal film: 250 V small body to 350 V normal body.
    expect(bound).toBe(250);
    holdsAt({
      rule: "rating/resistor-voltage",
      on: "R1",
      limit: 250,
      text: (volts) => `source B1 ${volts}V { plus: a, minus: gnd }
a -- resistor R1 10M 0.5W metal-film 0% -- gnd
`,
    });
  });
  it("takes what is written", () => {
    holdsAt({
      rule: "rating/resistor-voltage",
      on: "R1",
      limit: 700,
      text: (volts) => `source B1 ${volts}V { plus: a, minus: gnd }
a -- resistor R1 10M 0.5W 700V 0% -- gnd
`,
    });
  });
});

describe("rating/pot-power", () => {
  it("holds the whole track", () => {
    holdsAt({
      rule: "rating/pot-power",
      on: "R1",
      limit: 0.25,
      text: (watts) => `source B1 ${Math.sqrt(watts * 10e3)}V { plus: a, minus: gnd }
pot R1 10k lin 0.25W 0% { top: a, wiper: w, bottom: gnd }
w -- resistor R2 1G 0.5W 500V -- gnd
`,
      step: 0.01,
    });
  });
  it("holds a part of it to the same current", () => {
    // A tenth of the track with 10 mA: 0.1 W in it, but the whole would have 1 W.
    const text = (watts: string) => `source B1 10V { plus: a, minus: gnd }
pot R1 10k lin ${watts} 0% at 90% { top: a, wiper: gnd }
`;
    const found = errorOn(text("0.5W"), "rating/pot-power", "R1");
    expect(found?.value).toBeCloseTo(1, 6);
    expect(errorOn(text("1.1W"), "rating/pot-power", "R1")).toBeUndefined();
  });
  it("holds a hum pot to the heaters' alternating volts", () => {
    const text = (watts: string) => `mains 230 V 50 Hz UK
transformer T1 20VA {
  primary 230V 50R   { a b }
  lt 6.3V 2A 0.01R   { h1 h2 }
}
pot R1 100R lin ${watts} 0% { top: h1, wiper: gnd, bottom: h2 }
h1 -- lamp LP1 6.3V 2A -- h2
`;
    // 6.3 V and ten per cent of mains over 100 ohms: 0.48 W.
    const found = errorOn(text("0.25W"), "rating/pot-power", "R1");
    expect((found?.value ?? 0) / (6.93 ** 2 / 100)).toBeCloseTo(1, 1);
    expect(told(text("1W"), "rating/pot-power", "R1")).toEqual([]);
  });
});

describe("rating/choke-current", () => {
  it("holds the direct current", () => {
    holdsAt({
      rule: "rating/choke-current",
      on: "L1",
      limit: 0.1,
      text: (amps) => `source B1 ${amps * 1001}V { plus: a, minus: gnd }
a -- choke L1 10H 100mA 1R 0% -- b -- resistor R1 1k 50W 0% 500V -- gnd
`,
      step: 0.01,
    });
  });
});

describe("rating/thermistor-current", () => {
  it("holds the current, warm", () => {
    holdsAt({
      rule: "rating/thermistor-current",
      on: "TH1",
      limit: 0.1,
      text: (amps) => `source B1 ${amps * 1001}V { plus: a, minus: gnd }
a -- thermistor TH1 47R hot 1R 100mA 0% -- b -- resistor R1 1k 50W 0% 500V -- gnd
`,
      step: 0.01,
    });
  });

  it("holds the rms current of a primary behind it", () => {
    const text = (rated: string) => `mains 230 V 50 Hz UK
cord W1 1.0mm2 10A anchored { active: inA 60mm brown, neutral: inN 60mm blue, earth: inE 130mm green-yellow }
inE -- bond E1 own-fixing -- chassis
gnd -- bond E2 own-fixing -- chassis
inA -- fuse F1 T1A 250V H -- live
live -- thermistor TH1 47R hot 1R ${rated} -- warm
transformer T1 100VA { primary 230V 0.1R { warm inN }, load 23V no-load 0.01R { x gnd } }
x -- resistor R1 2R 300W 100V 0% -- gnd
`;
    // By hand: a tenth of the mains over 2 Ω, a tenth of that in the primary: 253 V / 10 / 2 Ω / 10 at high mains, less the drops.
    const found = errorOn(text("500mA"), "rating/thermistor-current", "TH1");
    expect((found?.value ?? 0) / 1.265).toBeCloseTo(1, 1);
    expect(told(text("3A"), "rating/thermistor-current", "TH1")).toEqual([]);
  });
});

describe("rating/diode-reverse", () => {
  it("holds the inverse volts", () => {
    holdsAt({
      rule: "rating/diode-reverse",
      on: "D1",
      limit: 400,
      text: (volts) => `source B1 ${volts}V { plus: a, minus: gnd }
gnd -- diode D1 400V 1A -- a
`,
    });
  });
});

describe("rating/lamp-voltage", () => {
  it("allows ten per cent", () => {
    holdsAt({
      rule: "rating/lamp-voltage",
      on: "LP1",
      limit: 6.93,
      text: (volts) => `source B1 ${volts}V { plus: a, minus: gnd }
a -- lamp LP1 6.3V 0.15A -- gnd
`,
    });
  });
});

describe("rating/wire-voltage", () => {
  it("holds the insulation", () => {
    holdsAt({
      rule: "rating/wire-voltage",
      on: "W1",
      limit: 300,
      text: (volts) => `source B1 ${volts}V { plus: a, minus: gnd }
a -- wire W1 0.2mm2 300V -- b
b -- resistor R1 1M 2W 500V -- gnd
`,
    });
  });
});

describe("rating/switch-dc", () => {
  it("holds the dc rating in standby", () => {
    holdsAt({
      rule: "rating/switch-dc",
      on: "S1",
      limit: 600,
      text: (volts) => `source B1 ${volts}V { plus: a, minus: gnd }
a -- switch S1 standby dc 600V 3A -- b
b -- resistor R1 100k 10W 700V -- gnd
`,
      state: "standby",
    });
  });
  it("only warns of an ac rating that the dc is past", () => {
    const text = (volts: number) => `source B1 ${volts}V { plus: a, minus: gnd }
a -- switch S1 standby 250V 3A -- b
b -- resistor R1 100k 10W 700V -- gnd
`;
    expect(told(text(400), "rating/switch-dc", "S1").map((finding) => finding.severity)).toEqual(["warning"]);
    expect(told(text(200), "rating/switch-dc", "S1")).toEqual([]);
    expect(missed(text(200), "S1")).toContain("dc voltage of the contacts");
  });
});

describe("rating/switch-dc on a supply", () => {
  // By hand: a sine's crest at the mains' upper end, 290 V x 1.1 x 1.4142; the rectifier's own drop is within the 1 %.
  const CREST = 290 * 1.1 * Math.SQRT2;
  const supply = (volts: string, nets: string, lines: string) =>
    `mains 230 V 50 Hz AU
cord W1 1.0mm2 { active: a, neutral: n, earth: e }
transformer T1 80VA {
  primary 230V 1R { a n }
  ht ${volts} no-load 50R { ${nets} }
}
${lines}
HT1 -- capacitor C1 47u 600V electrolytic -- gnd
HT1 -- resistor R1 10k 50W 700V -- gnd
`;
  const rectified = "hA -- diode D1 1500V 2A -- HT0\nhB -- diode D2 1500V 2A -- HT0";
  const both = ["290-0-290V", "hA ct hB"] as const;
  const direct = {
    "the centre tap": supply(
      ...both,
      `ct -- switch S1 standby dc 400V 3A -- gnd\n${rectified}\nHT0 -- wire W2 -- HT1`,
    ),
    "ahead of the reservoir": supply(
      ...both,
      `ct -- wire W2 -- gnd\n${rectified}\nHT0 -- switch S1 standby dc 400V 3A -- HT1`,
    ),
    "a bridge's minus": supply(
      "290V",
      "hA hB",
      "bridge BR1 1500V 2A { ac1: hA, ac2: hB, plus: HT1, minus: m }\nm -- switch S1 standby dc 400V 3A -- gnd",
    ),
    "numbered throws": supply(
      ...both,
      `switch S1 standby spdt dc 400V 3A { common: ct, 1: gnd }\n${rectified}\nHT0 -- wire W2 -- HT1`,
    ),
  };
  it.each(Object.entries(direct))("holds %s by its crest", (_, text) => {
    const [found, ...more] = told(text, "rating/switch-dc", "S1");
    expect(more).toEqual([]);
    expect(found).toMatchObject({ severity: "error", state: "standby", mains: "high", limit: 400 });
    expect(Math.abs((found.value ?? 0) / CREST - 1)).toBeLessThan(0.01);
    expect(told(text.replace("dc 400V", "dc 500V"), "rating/switch-dc", "S1")).toEqual([]);
    expect(told(text.replace("dc 400V", "250V"), "rating/switch-dc", "S1")[0].severity).toBe("warning");
    expect(missed(text.replace("dc 400V", ""), "S1")).toContain("dc voltage of the contacts");
  });
  it.each([
    [
      "a bridge's winding",
      supply(
        "290V",
        "hA hB",
        "hA -- switch S1 standby dc 100V 3A -- sA\nbridge BR1 1500V 2A { ac1: sA, ac2: hB, plus: HT1, minus: gnd }",
      ),
    ],
    [
      "a winding's end ahead of its diode",
      supply("290V", "hA gnd", "hA -- switch S1 standby dc 100V 3A -- sA\nsA -- diode D1 1500V 2A -- HT1"),
    ],
  ])("leaves %s, which alternates, alone", (_, text) => {
    expect(told(text, "rating/switch-dc", "S1")).toEqual([]);
  });
  it("holds a switch of a name of its own by the throw that stands open", () => {
    const text = `source B1 450V { plus: HT, minus: gnd }
switch S3 power spdt 250V 1A { common: out, 1: half, 2: HT }
HT -- resistor R1 10k 20W 700V -- half -- resistor R2 10k 20W 700V -- gnd
out -- resistor R3 1M 1W 700V -- gnd
`;
    expect(told(text, "rating/switch-dc", "S3")).toEqual([]);
    expect(told(text.replace("250V 1A", "dc 200V 1A"), "rating/switch-dc", "S3")).toMatchObject([
      { severity: "error" },
    ]);
  });
});

describe("ratings that the physics tells", () => {
  // The rating written just over and just under what the part is computed to carry.
  const cases: readonly {
    readonly rule: string;
    readonly on: string;
    readonly reading: "rms" | "amps" | "watts";
    readonly text: (rating: string) => string;
    readonly unit: string;
  }[] = [
    {
      rule: "rating/capacitor-ripple",
      on: "C1",
      reading: "rms",
      unit: "A",
      text: (rating) => `transformer T1 200VA {
  primary 230V 4R    { a b }
  ht      230V 1A 8R { x y }
}
bridge BR1 1000V 3A { ac1: x, ac2: y, plus: HT, minus: gnd }
HT -- capacitor C1 100u 450V electrolytic ripple ${rating} -- gnd
HT -- resistor R1 1k2 200W wirewound -- gnd
`,
    },
    {
      rule: "rating/diode-current",
      on: "D1",
      reading: "amps",
      unit: "A",
      // So many volts that what a chip of another current drops is next to nothing among them.
      text: (rating) => `source B1 2kV { plus: a, minus: gnd }
a -- diode D1 100V ${rating} -- b -- resistor R1 1k 5kW 5kV 0% -- gnd
`,
    },
    {
      rule: "rating/zener-power",
      on: "D1",
      reading: "watts",
      unit: "W",
      text: (rating) => `source B1 100V { plus: a, minus: gnd }
a -- resistor R1 1k 5W 0% -- z
gnd -- zener D1 56V ${rating} 0% 10R -- z
`,
    },
  ];
  it.each(cases.map((entry) => [entry.rule, entry] as const))(
    "%s",
    (_, { rule, on, reading, text, unit }) => {
      const analysis = analysisOf(text(`1${unit}`));
      let most = 0;
      for (const state of analysis.states)
        for (const level of ["low", "nominal", "high"] as const) {
          const band = analysis.solution(state, level)?.band(on, reading);
          if (band && state !== "pulled") most = Math.max(most, band.high, band.nominal);
        }
      expect(most).toBeGreaterThan(0);
      expect(errorOn(text(`${most * 1.002}${unit}`), rule, on)).toBeUndefined();
      expect(errorOn(text(`${most * 0.998}${unit}`), rule, on)).toBeDefined();
    },
  );
});
