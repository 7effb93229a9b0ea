import { added, type Mutation, on, only, replaced, without } from "./mutation.ts";

const RECTIFIER: Readonly<Record<string, string>> = {
  "brolga-35": "V6",
  "currawong-15": "V5",
  "fantail-5": "V3",
  "chickadee-4": "V3",
};
const rectifier = (name: string) => RECTIFIER[name];
const reservoirNet = (name: string) => (name === "currawong-15" || name === "chickadee-4" ? "HT1" : "HT0");
/** Only the samples, whose rectifier has a capacitor behind it. */
const ofSamples =
  (change: Mutation["change"]): Mutation["change"] =>
  (sample) =>
    RECTIFIER[sample.name] ? change(sample) : undefined;

const faults: readonly Mutation[] = [
  {
    rule: "supply/rectifier-direct-current",
    fault: "a leak that draws a quarter of an ampere from the reservoir",
    elsewhere: "the rectifier is shown, not all that draws from it",
    change: (sample) =>
      on(
        rectifier(sample.name),
        added(sample.text, `${reservoirNet(sample.name)} -- resistor R96 1k 500W wirewound 700V -- gnd`),
      ),
    allow: {
      "supply/transformer-load": "more current is drawn through it",
      "supply/winding-current": "more current is drawn through it",
      "rating/resistor-power": "more current is drawn through it",
    },
  },
  {
    rule: "supply/rectifier-peak-current",
    fault: "a winding without resistance, and a leak behind it",
    change: (sample) =>
      on(
        rectifier(sample.name),
        added(
          sample.text
            .replace(/(ht +\S+ \d+mA) \d+R/, "$1 4R")
            .replace(/resistor (R3[01]) 47R/g, "resistor $1 1R"),
          `${reservoirNet(sample.name)} -- resistor R96 1k5 500W wirewound 900V -- gnd`,
        ),
      ),
    allow: {
      "supply/transformer-load": "more current is drawn through it",
      "supply/winding-current": "more current is drawn through it",
      "supply/plate-impedance": "the winding gave that",
      "supply/rectifier-direct-current": "more current is drawn through it",
    },
  },
  {
    rule: "supply/rectifier-inverse",
    fault: "twice the winding",
    change: (sample) => on(rectifier(sample.name), replaced(sample, /ht( +)(\d+)-0-\d+V/, "ht$1620-0-620V")),
    allow: {
      "circuit/common-cause": "the winding is told as what all of it has in common",
      "mains/fuse-value": "all that stands behind the winding is higher",
      "rating/switch-dc": "all that stands behind the winding is higher",
    },
  },
  {
    rule: "supply/reservoir-size",
    fault: "a reservoir of 470 µF",
    change: (sample) =>
      on(
        rectifier(sample.name),
        replaced(
          sample,
          /capacitor C20 \d+u (\S+ electrolytic -- HT0m -- capacitor C21) \d+u|capacitor C20 \d+u/,
          (all: string, string: string | undefined) =>
            string ? `capacitor C20 470u ${string} 470u` : all.replace(/C20 \d+u/, "C20 470u"),
        ),
      ),
    allow: { "supply/discharge": "its bleeder empties ten times as much" },
  },
  {
    rule: "supply/plate-impedance",
    fault: "a winding of a few ohms",
    change: (sample) =>
      on(
        rectifier(sample.name),
        sample.text
          .replace(/(ht +\S+ \d+mA) \d+R/, "$1 4R")
          .replace(/resistor (R3[01]) 47R/g, "resistor $1 1R"),
      ),
    allow: {
      "valve/plate-voltage": "less is lost in the winding",
      "valve/plate-dissipation": "less is lost in the winding",
    },
  },
  {
    rule: "supply/rectifier-sharing",
    fault: "a second rectifier straight beside the first",
    change: (sample) => {
      const line = sample.text.split("\n").find((one) => one.startsWith(`valve ${rectifier(sample.name)} `));
      if (!line) return undefined;
      return on(rectifier(sample.name), added(sample.text, line.replace(/^valve V\d/, "valve V9")));
    },
    allow: {
      "supply/heater-current": "its heater hangs on the same winding",
      "valve/plate-dissipation": "less is lost in two rectifiers",
      "mains/fuse-value": "its heater draws too",
    },
  },
  {
    rule: "supply/winding-current",
    fault: "a winding for a third of the current",
    change: (sample) => on("T1.ht", replaced(sample, /(ht +\S+) \d+mA/, "$1 30mA")),
  },
  {
    rule: "supply/winding-resistance",
    fault: "kilohms for the primary's ohms",
    change: (sample) => on("T1.primary", replaced(sample, /(primary +\d+V +)([\d.]+)R(\d*)/, "$1$2k$3")),
  },
  {
    rule: "supply/transformer-load",
    fault: "a transformer of 15 VA",
    change: (sample) => on("T1", replaced(sample, /transformer T1 \d+VA/, "transformer T1 15VA")),
  },
  {
    rule: "supply/heater-current",
    fault: "a heater winding for half an ampere",
    change: (sample) => on("T1.heater", replaced(sample, /(heater +6\.3V) [\d.]+A/, "$1 0.5A")),
  },
  {
    rule: "supply/discharge",
    fault: "bleeders of megohms",
    change: (sample) =>
      on(
        "C20",
        sample.text.replace(
          /resistor (R2[0-3]) (150k|220k) 3W metal-oxide 500V/g,
          "resistor $1 4M7 3W metal-oxide 900V",
        ),
      ),
    allow: { "rating/series-capacitors": "they balanced the cans too" },
  },
  {
    rule: "supply/discharge-path",
    fault: "no bleeder",
    change: only(["currawong-15", "fantail-5", "chickadee-4"], (sample) =>
      on("C20", without(sample, / -- resistor R20 /)),
    ),
  },
  {
    rule: "supply/ripple",
    fault: "the first stage fed from the reservoir",
    change: (sample) =>
      on("V1", replaced(sample, /HT[34] -- resistor R5 /, `${reservoirNet(sample.name)} -- resistor R5 `)),
    // The reservoir's ripple goes through all the gain that follows.
    allow: {
      "valve/heater-cathode": "the reservoir's ripple goes through all the gain that follows",
      "rating/capacitor-voltage": "the reservoir's ripple goes through all the gain that follows",
    },
  },
  {
    rule: "supply/standby",
    fault: "a standby switch between the rectifier and its reservoir",
    change: (sample) => {
      const net = reservoirNet(sample.name);
      const line = sample.text.split("\n").find((one) => one.startsWith(`valve ${rectifier(sample.name)} `));
      if (!line) return undefined;
      const moved = line.replaceAll(net, "k6");
      return on(
        "S9",
        added(
          sample.text.replace(line, moved).replace(new RegExp(`(rect .*\\{) ${net} f2`), "$1 k6 f2"),
          `k6 -- switch S9 standby dc 700V 3A -- ${net}`,
        ),
      );
    },
  },
  {
    rule: "supply/rectifier-hot-switch",
    fault: "a 5AR4 on a winding of a few ohms",
    change: only(["brolga-35"], (sample) =>
      on("V6", replaced(sample, "V6 GZ34", "V6 5AR4")?.replace("220mA 120R", "220mA 4R")),
    ),
    allow: {
      "supply/plate-impedance": "the winding gave that too",
      "supply/rectifier-peak-current": "the winding bounded that too",
    },
  },
  {
    rule: "supply/no-high-tension",
    fault: "the first dropper, or choke, soldered to common instead of to the reservoir",
    elsewhere: "the supply that is dead is shown",
    change: only(["currawong-15", "brolga-35"], (sample) =>
      on(
        sample.name === "brolga-35" ? "L1" : "R21",
        replaced(sample, /^HT1( +-- (?:resistor R21|choke L1) )/m, "gnd$1"),
      ),
    ),
    allow: {
      "valve/plate-voltage": "the plates of the output stage stand at the supply without load",
      "supply/discharge-path": "what emptied the reservoir by that way is gone",
    },
  },
  {
    rule: "supply/half-wave",
    fault: "a plate of the rectifier not joined to its half of the winding",
    change: (sample) => on(rectifier(sample.name), replaced(sample, /, plate2: \w+,/, ",")),
    allow: {
      "rating/capacitor-ripple": "the reservoir is filled half as often",
      "bench/": "the supply is lower",
      "output/power": "the supply is lower",
      "circuit/single-use-net": "the resistor in the plate's lead is left alone",
    },
  },
  {
    rule: "supply/unloaded",
    fault: "a choke input whose bleeder was left out for its heat",
    change: (sample) =>
      on("L1", replaced(sample, "R20 8k2 50W wirewound 1000V", "R20 470k 3W metal-oxide 1000V")),
    allow: {
      "rating/capacitor-voltage": "the cans stand at the peak",
      "supply/discharge": "it emptied the cans as well",
    },
  },
];

/** Faults of the supply. */
export const supply: readonly Mutation[] = faults.map((fault) => ({
  ...fault,
  change: fault.rule === "supply/unloaded" ? fault.change : ofSamples(fault.change),
}));
