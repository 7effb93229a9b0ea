/** Amplifiers for faults that none of the samples has a place for. Like them they are free of errors and warnings themselves. */
import type { Sample } from "./mutation.ts";

/** Choke input with its bleeder, two 6L6GC with cathode bias. */
const dotterel = `amp "Dotterel 20"
mains 230 V 50 Hz AU
cord W1 1.0mm2 10A anchored {
  active:  inA  60mm brown
  neutral: inN  60mm blue
  earth:   inE 130mm green-yellow
}
inE -- bond E1 own-fixing -- chassis
gnd -- bond E2 own-fixing -- chassis
inA -- fuse F1 T800mA 250V L -- fused
fused -- switch S1 mains 250V 6A -- live
transformer T1 200VA {
  primary 230V 5R               { live inN }
  ht      380-0-380V 250mA 120R { htA gnd htB }
  heater  6.3V 3A 0.03R         { h1 h2 }
  rect    5V 3A 0.04R           { raw f2 }
}
h1 -- resistor R1 100R 0.5W metal-film -- gnd
h2 -- resistor R2 100R 0.5W metal-film -- gnd
valve V5 5U4GB { plate1: htA, plate2: htB, cathode: raw, heater: raw f2 }
raw -- choke L1 12H 250mA 100R -- HT1
HT1 -- capacitor C20 47u 500V electrolytic -- gnd
HT1 -- resistor R20 8k2 50W wirewound 1000V -- gnd
HT1 -- resistor R21 2k2 5W wirewound 700V -- HT2
HT2 -- capacitor C21 32u 500V electrolytic -- gnd
HT2 -- resistor R22 22k 2W metal-film -- HT3
HT3 -- capacitor C22 16u 500V electrolytic -- gnd
jack J1 { tip: in, sleeve: gnd }
in -- resistor R3 1M 0.5W metal-film -- gnd
in -- resistor R4 33k 0.5W metal-film -- g1
valve V1 ECC83 {
  a { plate: p1, grid: g1, cathode: k1 }
  b { plate: p2, grid: g2, cathode: k2 }
  heater: h1 h2
}
HT3 -- resistor R5 100k 1W metal-film -- p1
k1 -- resistor R6 1k5 0.5W metal-film -- gnd
k1 -- capacitor C1 25u 25V electrolytic -- gnd
p1 -- capacitor C2 22n 630V film -- vol
pot R7 500k audio 0.25W { top: vol, wiper: g2, bottom: gnd }
HT3 -- resistor R8 100k 1W metal-film -- p2
k2 -- resistor R9 1k5 0.5W metal-film -- gnd
k2 -- capacitor C3 25u 25V electrolytic -- gnd
p2 -- capacitor C4 22n 630V film -- gL -- resistor R10 330k 0.5W metal-film -- gnd
gL -- resistor R11 2k2 0.5W metal-film -- g3
HT2 -- resistor R12 470R 2W metal-film -- s3
valve V2 6L6GC { plate: p3, screen: s3, grid: g3, cathode: k3, heater: h1 h2 }
k3 -- resistor R13 470R 5W wirewound -- gnd
k3 -- capacitor C5 100u 63V electrolytic -- gnd
output-transformer T2 15W {
  plates  5k 80mA 200R { p3 HT1 }
  speaker 8R 0.6R      { spk gnd }
}
spk -- speaker LS1 8R 30W -- gnd
`;

/** On bench supplies, which have no tolerance of the mains in them: the place for limits that stand close to each other. */
const pipit = `amp "Pipit 4"
source B1 290V { plus: HT1, minus: gnd }
source B2 6.3V { plus: h1, minus: gnd }
HT1 -- resistor R3 10k 2W metal-film 500V -- s2 -- resistor R4 100k 2W metal-film 500V -- gnd
s2 -- capacitor C1 10u 450V electrolytic -- gnd
jack J1 { tip: in, sleeve: gnd }
in -- resistor R1 220k 0.5W metal-film -- gnd
in -- resistor R2 1k5 0.5W metal-film -- g2
valve V2 6V6GTA { plate: p2, screen: s2, grid: g2, cathode: k2, heater: h1 gnd }
k2 -- resistor R5 560R 5W wirewound -- gnd
k2 -- capacitor C2 100u 63V electrolytic -- gnd
output-transformer T2 8W {
  plates  5k 60mA 250R { p2 HT1 }
  speaker 8R 0.6R      { spk gnd }
}
spk -- speaker LS1 8R 15W -- gnd
`;

export const own: readonly Sample[] = [
  { name: "dotterel-20", text: dotterel },
  { name: "pipit-4", text: pipit },
];
