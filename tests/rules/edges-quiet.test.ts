/**
 * What each rule says of itself under `quiet`, held: mostly the rule's own bad example with the one change that the claim
 * speaks of. The claim's words are looked for in the rule, so that a claim that is reworded is looked at again here.
 */
import { describe, expect, it } from "vitest";
import { ruleById, rules } from "../../server/rules/index.ts";
import { example } from "../../server/rules/mains/example.ts";
import { findingsOf } from "./limits.ts";

interface Claim {
  readonly rule: string;
  /** Words of the rule's `quiet`. */
  readonly says: string;
  readonly text: string;
  /** Severities that the claim leaves: "told as advice" and the like. */
  readonly leaves?: readonly string[];
  /** The part that is told as unchecked instead. */
  readonly unchecked?: string;
}

const bad = (rule: string, ...changes: readonly (readonly [string | RegExp, string])[]): string =>
  changes.reduce((text, [from, to]) => {
    expect(typeof from === "string" ? text.includes(from) : from.test(text), `${rule}: ${from}`).toBe(true);
    return text.replace(from, to);
  }, ruleById.get(rule)?.bad ?? "");
const way = (text: string) => example({ name: "Quiet", way: text });
const rest = (text: string) => example({ name: "Quiet", rest: `h1 -- lamp LP1 6.3V 5A -- gnd\n${text}` });
const BOTH = `switch S1 mains dpst 250V 6A {
  1 { common: fused, on: live }
  2 { common: inN, on: back }
}`;
const twoPoles = (more = "") =>
  example({
    name: "Quiet",
    way: `inA -- fuse F1 T315mA 250V -- fused\n${BOTH}\n${more}`,
    transformer: "transformer T1 40VA {\n  primary 230V 30R { live back }\n  heater 6.3V 5A   { h1 gnd }\n}",
  });
const inlet = (facts = "") =>
  example({
    name: "Quiet",
    cord: `inlet J9 ${facts} {\n  active: inA\n  neutral: inN\n  earth: inE\n}`,
  });

const claims: readonly Claim[] = [
  // Mains.
  { rule: "mains/wrong-both-ways", says: "on double-pole switches", text: twoPoles() },
  {
    rule: "mains/fuse-first",
    says: "a filter at the entry",
    text: way(
      "inA -- capacitor C1 100n X2 275VAC film -- inN\ninA -- choke L1 2mH 1A 1R -- fA -- fuse F1 T315mA 250V -- fused\nfused -- switch S1 mains 250V 6A -- live",
    ),
  },
  {
    rule: "mains/fuse-first",
    says: "on wires and terminal strips",
    text: way(
      "inA -- wire W2 600V -- strip\nstrip -- fuse F1 T315mA 250V -- fused\nfused -- switch S1 mains 250V 6A -- live",
    ),
  },
  {
    rule: "mains/fuse-in-neutral",
    says: "a fuse in each conductor",
    text: example({
      name: "Quiet",
      way: "inA -- fuse F1 T315mA 250V -- fused\nfused -- switch S1 mains 250V 6A -- live\ninN -- fuse F2 T315mA 250V -- back",
      transformer:
        "transformer T1 40VA {\n  primary 230V 30R { live back }\n  heater 6.3V 5A   { h1 gnd }\n}",
    }),
  },
  {
    rule: "mains/switch-active",
    says: "no switch on the mains side",
    text: way("inA -- fuse F1 T315mA 250V -- live"),
  },
  { rule: "mains/switch-active", says: "on a double-pole switch", text: twoPoles() },
  { rule: "mains/neutral-broken", says: "which parts both conductors at once", text: twoPoles() },
  {
    rule: "mains/either-way-round",
    says: "assume outlet polarised",
    text: bad("mains/either-way-round", [/$/, "\nassume outlet polarised\n"]),
  },
  {
    rule: "mains/either-way-round",
    says: "where the switch breaks both conductors",
    text: twoPoles().replace("50 Hz AU", "50 Hz EU"),
  },
  {
    rule: "mains/crossed",
    says: "on resistors above 1 kΩ",
    text: rest("live -- resistor R1 1M 1W 500V -- chassis"),
  },
  {
    rule: "mains/line-capacitor",
    says: "class Y anywhere (it may stand for class X)",
    text: rest("live -- capacitor C1 4n7 Y2 250VAC ceramic -- inN"),
  },
  {
    rule: "mains/line-capacitor",
    says: "without an alternating voltage rating is told as unchecked",
    text: rest("live -- capacitor C1 4n7 Y2 ceramic -- chassis"),
    unchecked: "C1",
  },
  {
    rule: "mains/polarity-switch",
    says: "Quiet on voltage selectors",
    text: example({
      name: "Quiet",
      way: "inA -- fuse F1 T315mA 250V -- fused\nfused -- switch S1 mains 250V 6A -- live\nswitch S2 selector spdt 250V 6A { common: live, 1: t230, 2: t115 }",
      transformer:
        "transformer T1 40VA {\n  primary 0-115-230V 30R { inN t115 t230 }\n  heater 6.3V 5A { h1 gnd }\n}",
    }),
  },
  {
    rule: "mains/touch-current",
    says: "on the neutral alone where the plug is polarised",
    text: rest("inN -- capacitor C1 100n Y2 250VAC ceramic -- chassis"),
  },
  {
    rule: "mains/capacitor-bleed",
    says: "up to 0.1 µF in all",
    text: rest("fused -- capacitor C1 82n X2 275VAC film -- inN"),
  },
  {
    rule: "mains/capacitor-bleed",
    says: "where a primary, a lamp or a resistor empties it",
    text: rest("live -- capacitor C1 470n X2 275VAC film -- inN"),
  },
  {
    rule: "mains/fuse-value",
    says: "whose letter is not given (told as unchecked)",
    text: way("inA -- fuse F1 315mA 250V -- fused\nfused -- switch S1 mains 250V 6A -- live"),
    unchecked: "F1",
  },
  {
    rule: "mains/fuse-voltage",
    says: "no voltage given: unchecked",
    text: way("inA -- fuse F1 T315mA -- fused\nfused -- switch S1 mains 250V 6A -- live"),
    unchecked: "F1",
  },
  {
    rule: "mains/switch-rating",
    says: "what the file does not rate is told as unchecked",
    text: way("inA -- fuse F1 T315mA 250V -- fused\nfused -- switch S1 mains -- live"),
    unchecked: "S1",
  },
  {
    rule: "mains/cord-rating",
    says: "without a cross-section or a current in the file it is told as unchecked",
    text: inlet(),
    unchecked: "J9",
  },
  {
    rule: "mains/wire-insulation",
    says: "no voltage given is told as unchecked",
    text: way(
      "inA -- wire W2 -- strip\nstrip -- fuse F1 T315mA 250V -- fused\nfused -- switch S1 mains 250V 6A -- live",
    ),
    unchecked: "W2",
  },
  {
    rule: "mains/primary-voltage",
    says: "on 240 V windings at 230 V",
    text: example({ name: "Quiet" }).replace("primary 230V", "primary 240V"),
  },
  { rule: "mains/anchorage", says: "Quiet on inlets", text: inlet("10A") },
  {
    rule: "mains/anchorage",
    says: "a cord that does not say is told as unchecked",
    text: example({ name: "Quiet" }).replace(" anchored", ""),
    unchecked: "W1",
  },
  {
    rule: "mains/cloth-wire",
    says: "of the secondary side",
    text: rest("h1 -- wire W2 300V cloth -- h9\nh9 -- lamp LP2 6.3V 0.15A -- gnd"),
  },
  {
    rule: "mains/colour",
    says: "Colours not said are unchecked",
    text: example({ name: "Quiet" }).replace(/ (brown|blue|green-yellow)$/gm, ""),
    unchecked: "W1",
  },
  // Earth.
  {
    rule: "earth/missing",
    says: "through something that can open: that is earth/switched",
    text: bad("earth/switched"),
  },
  {
    rule: "earth/own-fixing",
    says: "A bond that does not say its fixing is told as unchecked",
    text: example({ name: "Quiet", earth: "inE -- bond E1 -- chassis\ngnd -- bond E2 -- chassis" }),
    unchecked: "E1",
  },
  {
    rule: "earth/own-fixing",
    says: "class X and Y capacitors of a filtered inlet",
    text: `${inlet("10A")}inA -- capacitor C1 2n2 Y2 250VAC ceramic -- inE\n`,
  },
  { rule: "earth/longest", says: "Quiet on inlets", text: inlet("10A") },
  {
    rule: "earth/longest",
    says: "lengths that are not said are told as unchecked",
    text: example({ name: "Quiet" }).replace(/ \d+mm (?=brown|blue|green)/g, " "),
    unchecked: "W1",
  },
  {
    rule: "earth/switched",
    says: "on a loop breaker between circuit common and chassis",
    text: example({
      name: "Quiet",
      earth: "inE -- bond E1 own-fixing -- chassis\ngnd -- resistor R9 10R 5W -- chassis",
    }),
  },
  {
    rule: "earth/floating-metal",
    says: "in files without a cord or inlet",
    text: `amp "Quiet"\nmetal panel\nsource B1 6.3V { plus: h1, minus: gnd }\nh1 -- lamp LP1 6.3V 1A -- gnd\n`,
  },
  {
    rule: "earth/common-lift",
    says: "a bridge) of 10 A or more beside the resistor",
    text: example({
      name: "Quiet",
      earth:
        "inE -- bond E1 own-fixing -- chassis\ngnd -- resistor R9 10R 5W wirewound -- chassis\ngnd -- diode D1 400V 10A -- chassis\nchassis -- diode D2 400V 10A -- gnd",
    }),
  },
  { rule: "earth/cross-section", says: "the cord's one cross-section", text: example({ name: "Quiet" }) },
  {
    rule: "earth/record",
    says: "not in the file are told as unchecked",
    text: example({ name: "Quiet" }),
    unchecked: "W1",
  },
  // Ratings.
  {
    rule: "rating/capacitor-reverse",
    says: "that are not polarised",
    text: bad("rating/capacitor-reverse", [/electrolytic/, "film"]),
  },
  {
    rule: "rating/capacitor-ripple",
    says: "without a written ripple rating a reservoir is unchecked",
    text: bad("rating/capacitor-ripple", [" ripple 200mA", ""]),
    unchecked: "C1",
  },
  {
    rule: "rating/series-capacitors",
    says: "where a resistor, a winding or a supply fixes the midpoint",
    text: bad("rating/series-capacitors", [
      /$/,
      "HT -- resistor R8 100k 5W wirewound 700V -- mid\nmid -- resistor R9 100k 5W wirewound 700V -- gnd\n",
    ]),
    leaves: ["advice"],
  },
  {
    rule: "rating/resistor-power",
    says: "without written watts that dissipates less than half of the smallest size sold",
    text: `amp "Quiet"\nsource B1 50V { plus: HT, minus: gnd }\nHT -- resistor R1 100k -- gnd\n`,
  },
  {
    rule: "rating/resistor-voltage",
    says: "Quiet below 100 V",
    text: bad("rating/resistor-voltage", ["440V", "99V"]),
  },
  {
    rule: "rating/lamp-voltage",
    says: "a 6 V lamp on 6.3 V",
    text: `amp "Quiet"\nsource B1 6.3V { plus: h1, minus: gnd }\nh1 -- lamp LP1 6V 0.3A -- gnd\n`,
  },
  {
    rule: "rating/wire-voltage",
    says: "Quiet below 60 V",
    text: `amp "Quiet"\nsource B1 59V { plus: n, minus: gnd }\nn -- wire W1 30V -- m\nm -- resistor R1 10k 2W -- gnd\n`,
  },
  {
    rule: "rating/diode-current",
    says: "a diode without rating or type is unchecked where it rectifies",
    text: bad("rating/diode-current", ["diode D1 100V 1A", "diode D1 100V"]),
    unchecked: "D1",
  },
  {
    rule: "rating/zener-power",
    says: "a zener without written watts is unchecked where it conducts",
    text: bad("rating/zener-power", ["zener D1 56V 1W", "zener D1 56V"]),
    unchecked: "D1",
  },
  {
    rule: "rating/choke-current",
    says: "a choke without a written current is unchecked where any flows",
    text: bad("rating/choke-current", [/(choke L1 \S+) \S+A/, "$1"]),
    unchecked: "L1",
  },
  {
    rule: "rating/thermistor-current",
    says: "Without a written current it is",
    text: bad("rating/thermistor-current", ["hot 5R 50mA", "hot 5R"]),
    unchecked: "TH1",
  },
  {
    rule: "supply/no-high-tension",
    says: "on files without a supply of high tension",
    text: bad("supply/no-high-tension", [/^source B1.*$/m, ""]),
  },
  {
    rule: "supply/no-high-tension",
    says: "on valves used as diodes",
    text: bad("supply/no-high-tension", ["grid: g1,", "grid: p1,"]),
  },
  // Valves.
  {
    rule: "valve/heater-floating",
    says: "either side or a tap reaches common through anything that passes dc",
    text: bad("valve/heater-floating", [/$/, "h1 -- resistor R90 1k 1W -- gnd\n"]),
  },
  {
    rule: "valve/grid-open",
    says: "Quiet where any resistor, pot, winding, choke",
    text: bad("valve/grid-open", [/$/, "g2 -- choke L90 100H 5mA 4k -- gnd\n"]),
  },
  {
    rule: "valve/pair-imbalance",
    says: "Quiet up to 10 % of the mean",
    text: bad("valve/pair-imbalance", ["R6 390R", "R6 280R"]),
  },
  {
    rule: "valve/grid-cathode-cold",
    says: "with 100 kΩ or more in the grid's lead",
    text: bad(
      "valve/grid-cathode-cold",
      [/(b \{[^}]*grid:) p1/, "$1 gF"],
      [/$/, "p1 -- resistor R90 100k 0.5W 500V -- gF\n"],
    ),
  },
  {
    rule: "valve/bias-fixed-unadjustable",
    says: "with cathode bias",
    text: bad("valve/pair-imbalance"),
  },
  {
    rule: "valve/blocking",
    says: "Quiet up to a quarter of a second",
    text: bad("valve/blocking", ["C1 1u", "C1 100n"]),
  },
  // Supply and output.
  {
    rule: "supply/rectifier-hot-switch",
    says: "where none is, it is unchecked",
    text: bad("supply/rectifier-peak-current"),
    unchecked: "V1",
  },
  {
    rule: "supply/rectifier-sharing",
    says: "where each plate has a resistor of its own",
    text: ruleById.get("supply/rectifier-sharing")?.good ?? "",
  },
  {
    rule: "supply/winding-current",
    says: "A winding without a written current is unchecked",
    text: bad("supply/winding-current", [/(ht +\S+) \d+mA/, "$1"]),
    unchecked: "T1",
  },
  {
    rule: "supply/transformer-load",
    says: "Without written VA it is unchecked",
    text: bad("supply/transformer-load", ["transformer T1 20VA", "transformer T1"]),
    unchecked: "T1",
  },
  {
    rule: "supply/standby",
    says: "where a resistor bridges the open contact",
    text: bad("supply/standby", [
      /(\S+) -- switch S1 standby ([^-]*) -- (\S+)/,
      "$1 -- switch S1 standby $2 -- $3\n$1 -- resistor R90 47k 10W wirewound 900V -- $3",
    ]),
  },
  {
    rule: "supply/discharge-path",
    says: "Quiet where any resistor leads from it to common",
    text: bad("supply/discharge-path", [/$/, "HT0 -- resistor R90 220k 3W metal-oxide 500V -- gnd\n"]),
  },
  {
    rule: "output/load-mismatch",
    says: "between half and twice the tap's impedance",
    text: bad("output/load-mismatch", [/speaker LS1 16R/, "speaker LS1 8R"]),
    leaves: ["advice"],
  },
  {
    rule: "output/no-load-path",
    says: "with a resistor of up to 1 kΩ across the secondary",
    text: bad("output/no-load-path", [/$/, "spk -- resistor R90 220R 10W wirewound -- gnd\n"]),
  },
  {
    rule: "output/transformer-current",
    says: "Without a written current it is unchecked",
    text: bad("output/transformer-current", [/(plates +\S+) \d+mA/, "$1"]),
    unchecked: "T1",
  },
  {
    rule: "output/transformer-power",
    says: "Without written watts it is unchecked",
    text: bad("output/transformer-power", [/output-transformer T1 \d+W/, "output-transformer T1"]),
    unchecked: "T1",
  },
  // Bench and circuit.
  {
    rule: "circuit/short",
    says: "a pot whose wiper is tied to an end",
    text: `amp "Quiet"\nsource B1 30V { plus: n, minus: gnd }\npot R1 10k lin 0.5W at 50% { top: n, wiper: gnd, bottom: gnd }\n`,
  },
  {
    rule: "circuit/unconnected",
    says: "the third terminal of a pot used as a variable resistor",
    text: `amp "Quiet"\nsource B1 30V { plus: n, minus: gnd }\npot R1 10k lin 0.5W at 50% { top: n, wiper: gnd }\n`,
  },
  {
    rule: "circuit/single-use-net",
    says: "on an unused throw of a switch",
    text: `amp "Quiet"\nsource B1 30V { plus: n, minus: gnd }\nswitch S1 spdt { common: n, 1: m, 2: spare }\nm -- resistor R1 10k 1W -- gnd\n`,
  },
  {
    rule: "circuit/no-dc-path",
    says: "on windings and loudspeakers that float by nature",
    text: bad("output/load-mismatch", ["speaker LS1", "speaker LS1"]).replace(
      /gnd \}\n\}\nspk -- speaker (.*) -- gnd/,
      "far }\n}\nspk -- speaker $1 -- far",
    ),
  },
];

describe("what rules say of when they are quiet", () => {
  it("is said by every rule", () => {
    for (const rule of rules) expect(rule.quiet.length, rule.id).toBeGreaterThan(20);
  });

  it.each(claims.map((claim) => [`${claim.rule}: ${claim.says}`, claim] as const))("%s", (_, claim) => {
    const rule = ruleById.get(claim.rule);
    expect(rule?.quiet).toContain(claim.says);
    const findings = findingsOf(claim.text);
    expect(
      findings.filter((finding) => finding.rule === "circuit/syntax").map(({ message }) => message),
    ).toEqual([]);
    const told = findings.filter(
      (finding) => finding.rule === claim.rule && !(claim.leaves ?? []).includes(finding.severity),
    );
    expect(told.map((finding) => `${finding.severity}: ${finding.message}`)).toEqual([]);
    if (claim.unchecked !== undefined) {
      const open = findings.filter(
        ({ severity, on }) =>
          severity === "unchecked" &&
          on.some((name) => name === claim.unchecked || name.startsWith(`${claim.unchecked}.`)),
      );
      expect(open.length, `${claim.unchecked} is told as unchecked`).toBeGreaterThan(0);
    }
  });
});
