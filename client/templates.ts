/** First amplifiers to write on from. Complete enough to be checked; the figures are to be replaced by the chassis' own. */
export interface Template {
  readonly label: string;
  readonly detail: string;
  readonly text: string;
}

const MAINS_SIDE = `# ── mains side ──────────────────────────────────────────────
cord W1 1.0mm2 10A anchored {
  active:  inA  60mm brown
  neutral: inN  60mm blue
  earth:   inE 110mm green-yellow
}
inE -- bond E1 own-fixing -- chassis
gnd -- bond E2 -- chassis
inA -- fuse F1 T500mA 250V -- fused          # a fuse's first net is its tip
fused -- switch S1 mains 250V 6A -- live
`;

export const TEMPLATES: readonly Template[] = [
  {
    label: "Single-ended, one EL84",
    detail: "Silicon rectifier, cathode bias, one ECC83",
    text: `# Unplug, discharge, measure. Work for a qualified person.
amp "Untitled"
mains 230 V 50 Hz AU

${MAINS_SIDE}
transformer T1 60VA {
  primary 230V 20R          { live inN }
  ht      220-0-220V 120mA 160R { htA gnd htB }
  heater  6.3V 3A           { h1 h2 }
}
h1 -- resistor R1 100R 0.5W -- gnd
h2 -- resistor R2 100R 0.5W -- gnd

# ── supply chain ────────────────────────────────────────────
htA -- diode D1 1N4007 -- HT1
htB -- diode D2 1N4007 -- HT1
HT1 -- capacitor C20 32u 450V electrolytic -- gnd
HT1 -- resistor R20 1k 3W wirewound -- HT2
HT2 -- capacitor C21 32u 450V electrolytic -- gnd
HT2 -- resistor R21 10k 1W metal-film -- HT3
HT3 -- capacitor C22 16u 450V electrolytic -- gnd
HT1 -- resistor R22 150k 3W metal-oxide 500V -- gnd      # bleeder

# ── preamp ──────────────────────────────────────────────────
jack J1 { tip: in, sleeve: gnd }
in -- resistor R3 1M 0.5W -- gnd
in -- resistor R4 68k 0.5W -- g1
valve V1 ECC83 {
  a { plate: p1, grid: g1, cathode: k1 }
  heater: h1 h2
}
HT3 -- resistor R5 100k 1W metal-film -- p1
k1 -- resistor R6 1k5 0.5W -- gnd
k1 -- capacitor C1 25u 25V electrolytic -- gnd
p1 -- capacitor C2 22n 630V film -- gL
gL -- resistor R7 470k 0.5W -- gnd

# ── output stage ────────────────────────────────────────────
gL -- resistor R9 2k2 0.5W -- g2                         # stopper on the socket
HT2 -- resistor R10 220R 1W metal-film -- s2
valve V2 EL84 { plate: pO, screen: s2, grid: g2, cathode: kO, heater: h1 h2 }
kO -- resistor R8 220R 3W wirewound -- gnd
kO -- capacitor C3 100u 25V electrolytic -- gnd
output-transformer T2 8W {
  plates  5k 60mA 350R { pO HT1 }
  speaker 8R           { spk gnd }
}
spk -- speaker LS1 8R 15W -- gnd
`,
  },
  {
    label: "A supply on the bench",
    detail: "A source, a dropper and a load: the smallest thing that has voltages",
    text: `amp "Bench"
source B1 300V 50R { plus: HT1, minus: gnd }
HT1 -- resistor R1 4k7 2W -- HT2 -- resistor R2 47k 5W -- gnd
HT2 -- capacitor C1 22u 350V electrolytic -- gnd
`,
  },
];
