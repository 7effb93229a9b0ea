import { added, type Mutation, on, only, replaced, without } from "./mutation.ts";

const RECTIFIER: Readonly<Record<string, string>> = {
  "brolga-35": "V6",
  "currawong-15": "V5",
  "fantail-5": "V3",
  "chickadee-4": "V3",
};
const rectifier = (name: string) => RECTIFIER[name];
const reservoirNet = (name: string) => (name === "currawong-15" || name === "chickadee-4" ? "HT1" : "HT0");

/** Faults of the supply. */
export const supply: readonly Mutation[] = [
  {
    rule: "supply/rectifier-direct-current",
    fault: "a leak that draws a quarter of an ampere from the reservoir",
    change: (sample) =>
      on(
        rectifier(sample.name),
        added(sample.text, `${reservoirNet(sample.name)} -- resistor R96 1k 500W wirewound 700V -- gnd`),
      ),
    allow: ["supply/", "mains/fuse-value", "valve/heater-voltage", "rating/resistor-power"],
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
    allow: ["supply/", "mains/fuse-value", "valve/", "rating/"],
  },
  {
    rule: "supply/rectifier-inverse",
    fault: "twice the winding",
    change: (sample) => on(rectifier(sample.name), replaced(sample, /ht( +)(\d+)-0-\d+V/, "ht$1620-0-620V")),
    allow: ["supply/", "mains/fuse-value", "valve/", "rating/", "output/"],
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
    allow: ["supply/"],
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
    allow: ["supply/", "valve/"],
  },
  {
    rule: "supply/rectifier-sharing",
    fault: "a second rectifier straight beside the first",
    change: (sample) => {
      const line = sample.text.split("\n").find((one) => one.startsWith(`valve ${rectifier(sample.name)} `));
      if (!line) return undefined;
      return on(rectifier(sample.name), added(sample.text, line.replace(/^valve V\d/, "valve V9")));
    },
    allow: ["supply/", "valve/heater-voltage", "valve/plate-dissipation", "mains/fuse-value"],
  },
  {
    rule: "supply/winding-current",
    fault: "a winding for a third of the current",
    change: (sample) => on("T1.ht", replaced(sample, /(ht +\S+) \d+mA/, "$1 30mA")),
    allow: [],
  },
  {
    rule: "supply/transformer-load",
    fault: "a transformer of 15 VA",
    change: (sample) => on("T1", replaced(sample, /transformer T1 \d+VA/, "transformer T1 15VA")),
    allow: ["mains/fuse-value"],
  },
  {
    rule: "supply/heater-current",
    fault: "a heater winding for half an ampere",
    change: (sample) => on("T1.heater", replaced(sample, /(heater +6\.3V) [\d.]+A/, "$1 0.5A")),
    allow: ["valve/heater-voltage"],
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
    allow: ["rating/series-capacitors", "supply/discharge-path"],
  },
  {
    rule: "supply/discharge-path",
    fault: "no bleeder",
    change: only(["currawong-15", "fantail-5", "chickadee-4"], (sample) =>
      on("C20", without(sample, / -- resistor R20 /)),
    ),
    allow: ["supply/discharge"],
  },
  {
    rule: "supply/ripple",
    fault: "the first stage fed from the reservoir",
    change: (sample) =>
      on("V1", replaced(sample, /HT[34] -- resistor R5 /, `${reservoirNet(sample.name)} -- resistor R5 `)),
    // The reservoir's ripple goes through all the gain that follows.
    allow: ["valve/plate-voltage", "valve/heater-cathode", "rating/"],
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
    allow: ["supply/rectifier-hot-switch", "supply/discharge-path", "rating/"],
  },
];
