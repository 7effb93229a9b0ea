import { added, type Mutation, on, replaced, without } from "./mutation.ts";

/** Faults of passive parts. */
export const rating: readonly Mutation[] = [
  {
    rule: "rating/capacitor-voltage",
    fault: "a 100 V coupling capacitor on a plate",
    change: (sample) => on("C2", replaced(sample, "capacitor C2 22n 630V", "capacitor C2 22n 100V")),
  },
  {
    rule: "rating/capacitor-voltage",
    fault: "a 250 V reservoir",
    change: (sample) => on("C20", replaced(sample, /(capacitor C20 \S+) (350|450|500)V/, "$1 160V")),
  },
  {
    rule: "rating/capacitor-reverse",
    fault: "the first cathode's bypass turned round",
    change: (sample) =>
      on(
        "C1",
        // From a stage with its cathode well up, so that the volts are past what an electrolytic stands.
        replaced(
          sample,
          "k1 -- resistor R6 1k5 0.5W metal-film -- gnd\nk1 -- capacitor C1 25u 25V electrolytic -- gnd",
          "k1 -- resistor R6 4k7 0.5W metal-film -- gnd\ngnd -- capacitor C1 25u 25V electrolytic -- k1",
        ),
      ),
  },
  {
    rule: "rating/capacitor-ripple",
    fault: "a reservoir that may carry 10 mA",
    change: (sample) => on("C20", replaced(sample, /(capacitor C20 \S+ \S+ electrolytic)/, "$1 ripple 10mA")),
  },
  {
    rule: "rating/series-capacitors",
    fault: "the balancing resistors taken out",
    change: (sample) => on("C20", without(sample, /resistor R20 .*-- HT0m -- resistor R21/)),
  },
  {
    rule: "rating/resistor-power",
    fault: "a cathode resistor of an eighth of a watt",
    change: (sample) =>
      on(
        sample.name === "brolga-35" ? "R24" : sample.name === "currawong-15" ? "R26" : "R13",
        sample.name === "brolga-35"
          ? replaced(sample, "R24 4k7 3W", "R24 4k7 0.125W")
          : replaced(sample, /(resistor (?:R26|R13) \d+R) \dW/, "$1 0.125W"),
      ),
  },
  {
    rule: "rating/resistor-voltage",
    fault: "a bleeder with a short body",
    change: (sample) => on("R20", replaced(sample, /(resistor R20 \S+ 3W metal-oxide) 500V/, "$1 100V")),
  },
  {
    rule: "rating/pot-power",
    fault: "a bias trimmer of a few milliwatts",
    change: (sample) => on("R42", replaced(sample, "R42 5k lin 0.5W", "R42 5k lin 0.01W")),
  },
  {
    rule: "rating/choke-current",
    fault: "a choke of 5 mA",
    change: (sample) => on("L1", replaced(sample, "L1 10H 80mA", "L1 10H 5mA")),
  },
  {
    rule: "rating/diode-reverse",
    fault: "a 200 V diode in the bias supply",
    change: (sample) => on("D1", replaced(sample, "diode D1 1N4007", "diode D1 200V 1A")),
  },
  {
    rule: "rating/diode-current",
    fault: "a diode of a milliampere",
    change: (sample) => on("D1", replaced(sample, "diode D1 1N4007", "diode D1 1000V 1mA")),
  },
  {
    rule: "rating/zener-power",
    fault: "a zener of a tenth of a watt",
    change: (sample) =>
      on(
        "D90",
        added(
          sample.text,
          "HT1 -- resistor R90 22k 20W wirewound 700V -- z90",
          "gnd -- zener D90 100V 0.1W -- z90",
        ),
      ),
  },
  {
    rule: "rating/zener-reversed",
    fault: "a zener with its anode on what it is to hold",
    change: (sample) =>
      on(
        "D91",
        added(
          sample.text,
          "HT1 -- resistor R90 100k 20W wirewound 700V -- z90",
          "z90 -- zener D91 100V 1W -- gnd",
        ),
      ),
  },
  {
    rule: "rating/lamp-voltage",
    fault: "a 3 V lamp on 6.3 V",
    change: (sample) => on("LP9", added(sample.text, "h1 -- lamp LP9 3V 0.05A -- h2")),
  },
  {
    rule: "rating/wire-voltage",
    fault: "bell wire on the HT",
    change: (sample) =>
      on(
        "W9",
        added(sample.text, "HT1 -- wire W9 0.2mm2 100V -- HT9", "HT9 -- resistor R91 1M 1W 700V -- gnd"),
      ),
  },
  {
    rule: "rating/switch-dc",
    fault: "a standby switch made for 100 V dc",
    change: (sample) => on("S2", replaced(sample, "S2 standby dc 600V", "S2 standby dc 100V")),
  },
  {
    rule: "rating/speaker-power",
    fault: "a one-watt loudspeaker",
    change: (sample) => on("LS1", replaced(sample, /(speaker LS1 \S+) \d+W/, "$1 1W")),
  },
  {
    rule: "rating/unrated",
    fault: "a coupling capacitor without a rating",
    change: (sample) => on("C2", replaced(sample, "capacitor C2 22n 630V film", "capacitor C2 22n film")),
  },
  {
    rule: "rating/thermistor-current",
    fault: "an inrush thermistor made for a battery charger",
    change: (sample) =>
      on(
        "TH9",
        added(
          sample.text,
          "HT1 -- thermistor TH9 1k hot 100R 1mA -- t9",
          "t9 -- resistor R92 47k 20W wirewound 700V -- gnd",
        ),
      ),
  },
];
