/** Arrangements as they are met on the bench, right and wrong. */
import { describe, expect, it } from "vitest";
import { example } from "../../../server/rules/mains/example.ts";
import { findingsOf, told, uncheckedOf } from "./told.ts";

const LAMP = "h1 -- lamp LP1 6.3V 5A -- gnd";
const WAY = "inA -- fuse F1 T315mA 250V -- fused\nfused -- switch S1 mains 250V 6A -- live";
const CORD = `cord W1 1.0mm2 anchored {
  active:  inA  60mm brown
  neutral: inN  60mm blue
  earth:   inE 110mm green-yellow
}`;
const primary = (nets: string, facts = "230V 30R") =>
  `transformer T1 40VA {\n  primary ${facts} { ${nets} }\n  heater 6.3V 5A { h1 gnd }\n}`;
const rest = (more: string) => example({ name: "Case", rest: `${LAMP}\n${more}` });
const way = (text: string) => example({ name: "Case", way: text });

describe("filtered inlets", () => {
  const inlet = "inlet J9 10A {\n  active: inA\n  neutral: inN\n  earth: inE\n}";
  const filter = (more: string) => `inA -- capacitor C90 100n X2 275VAC film -- inN
inA -- choke L90 2mH 2A 0.5R -- fA
inN -- choke L91 2mH 2A 0.5R -- fN
fA -- capacitor C92 2n2 Y2 250VAC ceramic -- inE
fN -- capacitor C93 2n2 Y2 250VAC ceramic -- inE
${more}`;
  it("passes a filter with its bleeder ahead of the fuse", () => {
    const way = filter(
      "inA -- resistor R90 1M 0.5W 350V -- inN\nfA -- fuse F1 T315mA 250V -- fused\nfused -- switch S1 mains 250V 6A -- live",
    );
    expect(told(example({ name: "Case", cord: inlet, way, transformer: primary("live fN") }))).toEqual([]);
  });
  it("adds up the capacitors on both sides of a choke, which empty together", () => {
    const way = filter(
      "fA -- capacitor C94 47n X2 275VAC film -- fN\nfA -- fuse F1 T315mA 250V -- fused\nfused -- switch S1 mains 250V 6A -- live",
    );
    const found = findingsOf(example({ name: "Case", cord: inlet, way, transformer: primary("live fN") }));
    expect(found.map(({ rule, on }) => [rule, on])).toEqual([["mains/capacitor-bleed", ["C90", "C94"]]]);
  });
  it("still wants the fuse before the switch behind the filter", () => {
    const way = filter("fA -- switch S1 mains 250V 6A -- sw\nsw -- fuse F1 T315mA 250V -- live");
    expect(told(example({ name: "Case", cord: inlet, way, transformer: primary("live fN") }))).toEqual([
      "error mains/fuse-first",
    ]);
  });
  it("wants a choke behind the fuse where there is no filter", () => {
    const way =
      "inA -- choke L90 2mH 2A 0.5R -- fA\nfA -- fuse F1 T315mA 250V -- fused\nfused -- switch S1 mains 250V 6A -- live";
    expect(told(example({ name: "Case", way }))).toEqual(["error mains/fuse-first"]);
  });
});

describe("lamps on the mains", () => {
  it("passes a neon behind fuse and switch", () => {
    expect(told(rest("live -- resistor R80 150k 0.5W 350V -- ne\nne -- lamp LP2 neon -- inN"))).toEqual([]);
  });
  it("finds a neon ahead of the fuse", () => {
    expect(told(rest("inA -- resistor R80 150k 0.5W 350V -- ne\nne -- lamp LP2 neon -- inN"))).toEqual([
      "error mains/fuse-first",
    ]);
  });
});

describe("what else stands in the way", () => {
  it("passes an inrush thermistor, and a named wire", () => {
    const way = `${WAY.replace("-- live", "-- sw")}\nsw -- thermistor TH1 10R 3A -- t\nt -- wire W2 600V -- live`;
    expect(told(example({ name: "Case", way }))).toEqual([]);
  });
  it("follows two transformers behind one fuse", () => {
    const more =
      "transformer T2 40VA {\n  primary 230V 30R { live inN }\n  pilot 6.3V 5A { h3 gnd }\n}\nh3 -- lamp LP2 6.3V 5A -- gnd";
    const way = WAY.replace("T315mA", "T800mA");
    expect(told(example({ name: "Case", way, rest: `${LAMP}\n${more}` }))).toEqual([]);
    // The second one taken ahead of the fuse.
    const ahead = more.replace("live inN", "inA inN");
    expect(told(example({ name: "Case", rest: `${LAMP}\n${ahead}` }))).toContain("error mains/fuse-first");
  });
  it("finds the neutral broken by a second single-pole switch", () => {
    const way = `${WAY}\ninN -- switch S2 mains 250V 6A -- back`;
    const found = findingsOf(example({ name: "Case", way, transformer: primary("live back") }));
    expect(found.map(({ rule, on }) => [rule, on[0]])).toEqual([["mains/neutral-broken", "S2"]]);
  });
  it("does not ask a switch that is not on the mains side to break it", () => {
    const text = rest("h1 -- switch S2 standby 250V 3A -- h3\nh3 -- lamp LP2 6.3V 0.15A -- gnd");
    expect(told(text)).toEqual([]);
  });
  it("takes an unnamed switch on the mains side for the mains switch", () => {
    const way = "inA -- fuse F1 T315mA 250V -- live\nback -- switch S1 250V 6A -- inN";
    expect(told(example({ name: "Case", way, transformer: primary("live back") }))).toContain(
      "(error mains/neutral-broken)",
    );
  });
});

describe("crossed conductors", () => {
  it.each([
    ["neutral wired to the chassis", rest("inN -- wire W2 600V -- chassis"), "inN"],
    ["neutral wired to common", rest("inN -- wire W2 600V -- gnd"), "neutral -> gnd"],
    ["active on common by a low resistor", rest("live -- resistor R1 100R 1W 350V -- gnd"), "R1"],
    ["active through a lamp to the chassis", rest("live -- lamp LP2 230V 0.02A -- chassis"), "LP2"],
    [
      "primary returned to common",
      example({ name: "Case", transformer: primary("live gnd") }),
      "T1.primary -> gnd",
    ],
    ["active on the earth core", rest("live -- wire W2 600V -- inE"), "W2"],
  ])("%s", (_, text, words) => {
    const found = findingsOf(text).filter((finding) => finding.rule === "mains/crossed");
    expect(found).toHaveLength(1);
    expect(found[0].severity).toBe("error");
    expect(
      `${found[0].message} ${found[0].on.join(" ")} ${found[0].related.map((r) => r.on).join(" ")}`,
    ).toContain(words === "inN" ? "chassis" : words);
  });
  it("finds a set without a transformer, its rectifier on the mains", () => {
    const text = example({
      name: "Case",
      transformer:
        "diode D1 1N4007 { anode: live, cathode: B }\nB -- capacitor C1 47u 450V electrolytic -- gnd\nB -- resistor R1 47k 5W 500V -- gnd\ninN -- wire W2 600V -- gnd",
      rest: "",
    });
    expect(told(text)).toContain("error mains/crossed");
  });
  it("is quiet on a high resistor and a class Y capacitor", () => {
    expect(
      told(
        rest(
          "inN -- resistor R1 10M 0.5W 350V -- chassis\nlive -- capacitor C1 2n2 Y2 250VAC ceramic -- chassis",
        ),
      ),
    ).toEqual([]);
  });
  // By hand: 253 V over 2.53 MΩ are 0.1 mA.
  it.each([
    ["live", "2M55", []],
    ["live", "2M5", ["warning mains/touch-current"]],
    ["live", "100k", ["warning mains/touch-current"]],
    ["inN", "100k", []],
  ])("from %s a resistor of %s to the metal", (net, ohms, expected) => {
    expect(told(rest(`${net} -- resistor R1 ${ohms} 2W 500V -- chassis`))).toEqual(expected);
  });
  it("finds active and neutral joined", () => {
    expect(told(rest("live -- wire W2 600V -- inN"))).toContain("error circuit/short");
  });
});

describe("no mains switch", () => {
  const fused = "inA -- fuse F1 T315mA 250V -- live";
  const MISSING = "warning mains/switch-missing";
  const high = `transformer T2 40VA {
  primary 230V 30R { standing inN }
  ht 250V 100mA 200R { ht gnd }
}
ht -- resistor R1 10k 20W 500V -- gnd`;
  it("tells a fused inlet, and the way that stays live", () => {
    const text = example({
      name: "Case",
      cord: "inlet J1 { active: inA 60mm brown, neutral: inN 60mm blue, earth: inE 110mm green-yellow }",
      way: fused,
    });
    expect(told(text)).toEqual([MISSING]);
    const [found] = findingsOf(text);
    expect(found.message).toContain("active -> F1 -> T1.primary: no mains switch");
    expect(found.on).toEqual(["J1", "T1"]);
  });
  it("names the standby switch that is taken for it", () => {
    const text = example({
      name: "Case",
      way: fused,
      rest: `${LAMP}\nsource B1 250V { plus: HT0, minus: gnd }\nHT0 -- switch S2 standby dc 400V 1A -- HT1\nHT1 -- resistor R1 47k 5W 500V -- gnd`,
    });
    expect(told(text)).toEqual([MISSING]);
    expect(findingsOf(text)[0].message).toContain("S2 breaks only");
  });
  it("tells a standby switch on one of two primaries as no mains switch, once", () => {
    const text = example({
      name: "Case",
      way: `${fused}\nlive -- switch S2 standby 250V 6A -- standing`,
      rest: `${LAMP}\n${high}`,
    });
    expect(told(text)).toEqual([MISSING]);
    expect(told(text.replace("S2 standby", "S2 mains"))).toContain("error mains/switch-active");
  });
  it("takes a standby switch that leaves nothing live for a mains switch", () => {
    expect(
      told(way("inA -- fuse F1 T315mA 250V -- fused\nfused -- switch S2 standby 250V 6A -- live")),
    ).toEqual([]);
  });
  it("leaves a switch in the neutral to the rules that tell it", () => {
    for (const duty of ["mains", "standby", ""]) {
      const lines = told(
        example({
          name: "Case",
          way: `${fused}\nback -- switch S1 ${duty} 250V 6A -- inN`,
          transformer: primary("live back"),
        }),
      );
      expect(lines).not.toContain(MISSING);
      expect(lines.join()).toContain("mains/neutral-broken");
    }
  });
  it("takes a bridged switch for one that is there", () => {
    const lines = told(way(`${fused}\ninA -- switch S1 250V 6A -- live`));
    expect(lines).not.toContain(MISSING);
    expect(lines.join()).toContain("mains/switch-active");
  });
  it("does not take a ground switch for it", () => {
    const text = way(
      `${fused}\nswitch S2 ground spdt centre-off 250V 3A { common: mid, 1: live, 2: inN }\nmid -- capacitor C1 2n2 Y2 250VAC ceramic -- chassis`,
    );
    expect(told(text)).toEqual(["error mains/polarity-switch", MISSING]);
  });
  it("takes a changeover with one bare throw for a switch", () => {
    const text = way(
      "inA -- fuse F1 T315mA 250V -- fused\nswitch S1 mains spdt 250V 6A { common: fused, 1: live }",
    );
    expect(told(text)).toEqual([]);
    expect(told(`${text}fused -- wire W2 1.0mm2 600V -- live\n`).join()).toContain("mains/switch-active");
  });
  it("is quiet where the active comes to nothing that draws current", () => {
    expect(told(way("inA -- fuse F1 T315mA 250V -- fused"))).not.toContain(MISSING);
  });
});

describe("ground switches", () => {
  const us = (more: string) =>
    example({
      name: "Case",
      mains: "mains 120 V 60 Hz US",
      cord: "cord W1 0.82mm2 anchored {\n  active: inA 60mm black\n  neutral: inN 60mm white\n}",
      earth: "gnd -- bond E2 -- chassis",
      way: "inA -- fuse F1 T630mA 250V -- fused\nfused -- switch S1 mains 250V 6A -- live",
      transformer: primary("live inN", "120V 8R"),
      rest: `${LAMP}\n${more}`,
    });
  it("finds the old one: switch, capacitor and two-core cord", () => {
    const more =
      "switch S2 ground spdt 250V 3A { common: mid, 1: live, 2: inN }\nmid -- capacitor C1 47n 600V paper -- chassis";
    expect(told(us(more))).toEqual([
      "error earth/missing",
      "error mains/line-capacitor",
      "error mains/polarity-switch",
    ]);
  });
  it("finds one that moves the chassis itself", () => {
    const more = "switch S2 ground spdt centre-off 250V 3A { common: chassis, 1: live, 2: inN }";
    expect(told(us(more))).toContain("error mains/polarity-switch");
  });
});

describe("a file without a mains side", () => {
  const bench = `amp "Bench"\nsource B1 300V { plus: HT, minus: gnd }\nHT -- resistor R1 470k 1W 500V -- gnd\n`;
  it("is told once as unchecked, and never as passed or failed", () => {
    expect(told(bench)).toEqual([]);
    // The side itself, the earth, and the volts that are taken for want of a mains line.
    expect(uncheckedOf(bench).filter((line) => line.startsWith("mains:"))).toHaveLength(3);
  });
  it("is told so too where only a primary's nets are given", () => {
    const text = `amp "Bare primary"\n${primary("live inN")}\n${LAMP}\n`;
    expect(told(text)).toEqual([]);
    expect(uncheckedOf(text).some((line) => line.startsWith("mains:"))).toBe(true);
  });
});

describe("colours by region", () => {
  const cord = (active: string, neutral: string, earth: string) =>
    `cord W1 1.0mm2 anchored {\n  active:  inA  60mm ${active}\n  neutral: inN  60mm ${neutral}\n  earth:   inE 110mm ${earth}\n}`;
  const region = (code: string, colours: string) =>
    told(example({ name: "Case", cord: colours, mains: `mains 230 V 50 Hz ${code}`, way: WAY })).filter(
      (line) => line.endsWith("mains/colour"),
    );
  it.each([
    ["AU", cord("brown", "blue", "green-yellow"), []],
    ["AU", cord("red", "black", "green"), ["warning mains/colour"]],
    ["AU", cord("red", "blue", "green-yellow"), ["error mains/colour"]],
    ["AU", cord("blue", "brown", "green-yellow"), ["error mains/colour", "error mains/colour"]],
    [
      "AU",
      cord("black", "white", "green"),
      ["error mains/colour", "error mains/colour", "error mains/colour"],
    ],
    ["EU", cord("red", "black", "green"), ["error mains/colour", "error mains/colour", "error mains/colour"]],
    ["UK", cord("brown", "green-yellow", "blue"), ["error mains/colour", "error mains/colour"]],
    ["US", cord("black", "white", "green"), []],
    ["US", cord("black", "grey", "green-yellow"), []],
    ["US", cord("white", "black", "green"), ["error mains/colour", "error mains/colour"]],
    ["US", cord("brown", "blue", "green-yellow"), ["warning mains/colour"]],
    ["", cord("brown", "blue", "green-yellow"), []],
    ["", cord("black", "white", "green"), []],
    ["", cord("brown", "white", "green-yellow"), ["error mains/colour"]],
  ])("%s %s", (code, colours, expected) => {
    expect(region(code, colours)).toEqual(expected);
  });
  it("asks for colours that are not said", () => {
    const text = example({ name: "Case", cord: CORD.replace(" brown", "").replace(" green-yellow", "") });
    expect(told(text)).toEqual([]);
    expect(uncheckedOf(text)).toContain("W1: the colour of its active and earth");
  });
});

describe("many switches", () => {
  const chain = (count: number) => {
    const lines = Array.from(
      { length: count },
      (_, i) => `n${i} -- switch S${i + 1} mains 250V 6A -- ${i === count - 1 ? "live" : `n${i + 1}`}`,
    );
    return example({ name: "Case", way: `inA -- fuse F1 T315mA 250V -- n0\n${lines.join("\n")}` });
  };
  it("looks at 4096 combinations and says so past them", () => {
    expect(told(chain(12))).toEqual([]);
    expect(told(chain(13))).toEqual(["warning mains/switch-positions"]);
  });
  it("still finds what each switch alone gives away", () => {
    const text = chain(13)
      .replace("live inN", "live back")
      .concat("back -- switch S20 mains 250V 6A -- inN\n");
    expect(told(text)).toContain("error mains/neutral-broken");
  });
});
