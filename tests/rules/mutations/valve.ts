import { added, type Mutation, on, only, replaced, without } from "./mutation.ts";

const PAIRS = ["brolga-35", "currawong-15"];
const SINGLES = ["fantail-5", "chickadee-4"];

/** Faults of valves and what stands around them. */
export const valve: readonly Mutation[] = [
  {
    rule: "valve/plate-dissipation",
    fault: "a cathode resistor of a third of its value",
    change: (sample) =>
      on(
        sample.name === "currawong-15" ? "V3" : "V2",
        replaced(
          sample,
          /resistor (R26 150|R13 180|R13 360)R/,
          (_: string, of: string) =>
            `resistor ${{ "R26 150": "R26 68", "R13 180": "R13 82", "R13 360": "R13 150" }[of]}R`,
        ),
      ),
    allow: { "supply/winding-current": "more current is drawn through it" },
  },
  {
    rule: "valve/plate-dissipation",
    fault: "the bias turned off by half",
    elsewhere: "the plate and the trimmer are shown, not each resistor of the bias supply",
    change: only(["brolga-35"], (sample) =>
      on("V3", replaced(sample, "R43 10k 1W metal-film", "R43 2k2 1W metal-film")),
    ),
    allow: {
      "supply/winding-current": "more current is drawn through it",
      "supply/rectifier-direct-current": "more current is drawn through it",
    },
  },
  {
    rule: "valve/screen-dissipation",
    fault: "the plate's lead come off",
    change: only(SINGLES, (sample) =>
      on(
        "V2",
        replaced(sample, "plate: p3, screen: s3", "plate: dead, screen: s3")?.concat(
          "dead -- resistor R92 1k 1W metal-film -- gnd\n",
        ),
      ),
    ),
    allow: {
      "rating/resistor-power": "the screen takes the cathode's current, through its dropper",
      "circuit/single-use-net": "the transformer's end is left alone",
      "supply/no-high-tension": "the plate has no supply any more",
    },
  },
  {
    rule: "valve/plate-voltage",
    fault: "a valve made for 250 V",
    change: only(["currawong-15"], (sample) => on("V3", replaced(sample, "valve V3 EL84", "valve V3 6AQ5"))),
    allow: {
      "valve/pair-imbalance": "the other of the pair is an EL84",
      "valve/plate-dissipation": "made for less altogether",
      "valve/screen-voltage": "made for less altogether",
    },
  },
  {
    rule: "valve/screen-voltage",
    fault: "a valve whose screen is made for 250 V",
    change: only(["currawong-15"], (sample) => on("V3", replaced(sample, "valve V3 EL84", "valve V3 6AQ5"))),
    allow: {
      "valve/pair-imbalance": "the other of the pair is an EL84",
      "valve/plate-dissipation": "made for less altogether",
      "valve/plate-voltage": "made for less altogether",
    },
  },
  {
    rule: "valve/cathode-current",
    fault: "a cathode resistor of a sixth",
    change: only(["currawong-15", "fantail-5"], (sample) =>
      on(
        sample.name === "currawong-15" ? "V3" : "V2",
        replaced(
          sample,
          /resistor (R26 150|R13 180)R/,
          (_: string, of: string) => `resistor ${{ "R26 150": "R26 33", "R13 180": "R13 47" }[of]}R`,
        ),
      ),
    ),
    allow: {
      "supply/transformer-load": "more current is drawn through it",
      "supply/winding-current": "more current is drawn through it",
      "supply/rectifier-direct-current": "more current is drawn through it",
      "supply/rectifier-peak-current": "more current is drawn through it",
      "valve/plate-dissipation": "the same current",
    },
  },
  {
    rule: "valve/heater-cathode",
    fault: "the heaters lifted to half the HT",
    change: (sample) =>
      on(
        "V1",
        replaced(
          sample,
          /h1 -- resistor R1 (.*) -- gnd\nh2 -- resistor R2 (.*) -- gnd/,
          "h1 -- resistor R1 $1 -- lift\nh2 -- resistor R2 $2 -- lift",
        )?.concat(
          "HT1 -- resistor R93 100k 5W metal-oxide 500V -- lift -- resistor R94 330k 5W metal-oxide 500V -- gnd\n",
        ),
      ),
  },
  {
    rule: "valve/heater-voltage",
    fault: "a heater winding of 8 V",
    change: (sample) => on("V1", replaced(sample, /heater( +)6\.3V/, "heater$18V")),
  },
  {
    rule: "valve/heater-floating",
    fault: "the hum-balance resistors left out",
    change: (sample) => on("V1", without(sample, /^h[12] -- resistor R[12] /)),
  },
  {
    rule: "valve/grid-circuit-resistance",
    fault: "a leak far too large",
    change: (sample) =>
      on(
        sample.name === "brolga-35" || sample.name === "currawong-15" ? "V3" : "V2",
        replaced(sample, /(resistor (?:R16|R10)) (68k|470k|330k)/, "$1 2M2"),
      ),
  },
  {
    rule: "valve/grid-cathode-cold",
    fault: "a direct-coupled follower put behind the first stage",
    change: only(["chickadee-4"], (sample) =>
      on(
        "V9",
        added(
          sample.text.replace("6.3V 1A 0.15R", "6.3V 2A 0.05R"),
          "valve V9.a 12AX7 { plate: HT3, grid: p1, cathode: k9 }",
          "valve V9 12AX7 { heater: h1 h2 }",
          "k9 -- resistor R95 100k 2W metal-film 500V -- gnd",
        ),
      ),
    ),
  },
  {
    rule: "valve/grid-left-open",
    fault: "a mute switch put into the first grid's leak",
    change: (sample) =>
      on(
        "V1",
        replaced(
          sample,
          /^(in -- resistor R3 .*) -- gnd$/m,
          "$1 -- s90\ns90 -- switch S90 mute 250V 1A -- gnd",
        ),
      ),
  },
  {
    rule: "valve/grid-open",
    fault: "the output valve's leak left out",
    elsewhere: "what is missing has no line: the grid is shown",
    change: (sample) =>
      on(
        PAIRS.includes(sample.name) ? "V3" : "V2",
        sample.name === "fantail-5" || PAIRS.includes(sample.name)
          ? replaced(
              sample,
              / -- gLA -- resistor R16 .*| -- gL -- resistor R10 .*/,
              sample.name === "fantail-5" ? " -- gL" : " -- gLA",
            )
          : without(sample, /^gL -- resistor R10/),
      ),
    allow: {
      "supply/winding-current": "more current is drawn through it",
      "supply/rectifier-direct-current": "more current is drawn through it",
      "supply/rectifier-peak-current": "more current is drawn through it",
      "supply/transformer-load": "more current is drawn through it",
      "mains/fuse-value": "more current is drawn through it",
      "rating/resistor-power": "more current is drawn through it",
      "rating/capacitor-voltage": "the cathode rises with the current",
    },
  },
  {
    rule: "valve/bias-missing",
    fault: "the cathode resistor bridged",
    elsewhere: "the valve is shown",
    change: (sample) =>
      on(
        PAIRS.includes(sample.name) ? "V3" : "V2",
        sample.name === "brolga-35"
          ? replaced(sample, /(resistor R16 68k .*) -- bias/, "$1 -- gnd")
          : replaced(sample, /resistor (R26|R13) \d+R/, "resistor $1 0R1"),
      ),
    allow: { "mains/fuse-value": "more current is drawn through it" },
  },
  {
    rule: "valve/bias-missing",
    fault: "the output valve's leak taken to the HT",
    elsewhere: "the valve is shown, and the leak as related",
    change: only(["fantail-5"], (sample) =>
      on("V2", replaced(sample, /(resistor R1[01] 470k .*) -- gnd/, "$1 -- HT2")),
    ),
    allow: {
      "mains/fuse-value": "more current is drawn through it",
      "rating/": "more current is drawn, and the leak has the whole HT",
    },
  },
  {
    rule: "valve/bias-cold",
    fault: "a cathode resistor ten times too large",
    elsewhere: "the valve is shown",
    change: (sample) =>
      sample.name === "brolga-35"
        ? undefined
        : on(
            PAIRS.includes(sample.name) ? "V3" : "V2",
            replaced(sample, /resistor (R26|R13) (\d+)R/, "resistor $1 $20R"),
          ),
    allow: {
      "rating/": "the cathode stands higher, with what is on it",
      "valve/": "less is drawn, and the supply rises",
      "supply/": "less is drawn, and the supply rises",
      "output/": "less is drawn, and the supply rises",
    },
  },
  {
    rule: "valve/bias-cold",
    fault: "the trimmer's lower resistor ten times too large",
    elsewhere: "the valve is shown",
    change: only(["brolga-35"], (sample) =>
      on("V3", replaced(sample, "R43 10k 1W metal-film", "R43 100k 1W metal-film")),
    ),
    allow: {
      "rating/": "the bias supply rises",
      "valve/": "less is drawn, and the supply rises",
    },
  },
  {
    rule: "valve/suppressor",
    fault: "the suppressor's pin joined to the screen's",
    change: (sample) =>
      on(
        PAIRS.includes(sample.name) ? "V3" : "V2",
        replaced(
          sample,
          /(valve (?:V3|V2) EL\d+ \{ plate: \w+, screen: (\w+))(, suppressor: \w+)?/,
          "$1, suppressor: $2",
        ),
      ),
  },
  {
    rule: "valve/plate-screen-exchanged",
    fault: "plate and screen exchanged",
    change: (sample) => {
      const text = sample.text.replace(
        /(valve (V3|V2) \S+ \{ plate: )(\w+)(, screen: )(\w+)/,
        (_, head: string, __, plate: string, between: string, screen: string) =>
          `${head}${screen}${between}${plate}`,
      );
      return text === sample.text ? undefined : on(PAIRS.includes(sample.name) ? "V3" : "V2", text);
    },
    allow: {
      "valve/": "the screen works as a plate",
      "output/": "the plate works into nothing",
      "rating/": "the plate draws through the screen's resistor",
      "supply/": "the plate draws through the screen's resistor",
    },
  },
  {
    rule: "valve/plate-grid-exchanged",
    fault: "plate and grid exchanged",
    change: (sample) => {
      const text = sample.text.replace(
        /(valve (V3|V2) \S+ \{ plate: )(\w+)(,[^}]*? grid: )(\w+)/,
        (_, head: string, __, plate: string, between: string, grid: string) =>
          `${head}${grid}${between}${plate}`,
      );
      return text === sample.text ? undefined : on(PAIRS.includes(sample.name) ? "V3" : "V2", text);
    },
    allow: {
      "valve/": "the grid works as a plate",
      "output/": "no plate works into the winding",
      "rating/": "the HT is on the grid's net",
      "supply/": "the grid draws what it can",
    },
  },
  {
    rule: "valve/heater-voltage",
    fault: "one heater's leads on nets of another name",
    change: (sample) => on("V1", replaced(sample, /(valve V1 [\s\S]*?heater: )h1 h2/, "$1x1 x2")),
    allow: { "circuit/single-use-net": "nothing else is on those nets" },
  },
  {
    rule: "valve/bias-fixed-unadjustable",
    fault: "a divider in the trimmer's place",
    change: only(["brolga-35"], (sample) =>
      on(
        "V3",
        replaced(
          sample,
          /pot R42 .*\n/,
          "nB2 -- resistor R42 3k3 0.5W metal-film -- bias -- resistor R49 1k8 0.5W metal-film -- nB3\n",
        ),
      ),
    ),
  },
  {
    rule: "valve/bias-wiper-failsafe",
    fault: "the resistor from the wiper to the negative end left out",
    change: only(["brolga-35"], (sample) => on("R42", without(sample, /^nB2 -- resistor R44/))),
  },
  {
    rule: "valve/pair-imbalance",
    fault: "one side biased otherwise",
    elsewhere: "the pair is shown",
    change: only(PAIRS, (sample) =>
      sample.name === "brolga-35"
        ? on("V3", replaced(sample, /(resistor R16 68k .*) -- bias/, "$1 -- nB2"))
        : on(
            "V3",
            replaced(sample, /(valve V4 EL84 .*)cathode: kO/, "$1cathode: kP2")?.concat(
              "kP2 -- resistor R97 470R 5W wirewound -- gnd\nkP2 -- capacitor C97 220u 25V electrolytic -- gnd\n",
            ),
          ),
    ),
    allow: { "valve/plate-dissipation": "the other side takes the more" },
  },
  {
    rule: "valve/grid-stopper",
    fault: "the stopper left out",
    change: (sample) =>
      PAIRS.includes(sample.name)
        ? on(
            "V3",
            replaced(
              { ...sample, text: without(sample, /^gLA -- resistor R18/) ?? "" },
              "grid: gA",
              "grid: gLA",
            ),
          )
        : on(
            "V2",
            replaced(
              { ...sample, text: without(sample, /^gL -- resistor R11/) ?? "" },
              "grid: g3",
              "grid: gL",
            ),
          ),
  },
  {
    rule: "valve/heater-missing",
    fault: "a heater left out of the file",
    elsewhere: "what is missing has no line: the valve is shown",
    change: (sample) => on("V2", replaced(sample, /^(valve V2 [^}]*), heater: h1 h2( \})/m, "$1$2")),
  },
  {
    rule: "valve/cathode-open",
    fault: "the inverter's tail left out",
    change: only(PAIRS, (sample) => on("V2", replaced(sample, /(-- tail) -- resistor R13 .*-- gnd/, "$1"))),
  },
  {
    rule: "valve/screen-stopper",
    fault: "the screen's resistor left out",
    change: (sample) =>
      PAIRS.includes(sample.name)
        ? on(
            "V3",
            replaced(
              { ...sample, text: without(sample, /^HT2 -- resistor R2[46] (220R|1k) .*-- sA/) ?? "" },
              "screen: sA",
              "screen: HT2",
            ),
          )
        : on(
            "V2",
            replaced(
              { ...sample, text: without(sample, /^HT2 -- resistor R12/) ?? "" },
              "screen: s3",
              "screen: HT2",
            ),
          ),
  },
  {
    rule: "valve/blocking",
    fault: "a coupling capacitor of 4.7 µF",
    change: (sample) =>
      PAIRS.includes(sample.name)
        ? on("C6", replaced(sample, /capacitor C6 \d+n/, "capacitor C6 4u7"))
        : on(
            sample.name === "fantail-5" ? "C4" : "C3",
            replaced(sample, /capacitor (C4|C3) 22n/, "capacitor $1 4u7"),
          ),
  },
  {
    rule: "valve/substitute",
    fault: "a supply that puts the plate between the limits of two valves of one name",
    elsewhere: "the type is shown",
    change: only(["pipit-4"], (sample) => on("V2", replaced(sample, "B1 290V", "B1 345V"))),
  },
];
