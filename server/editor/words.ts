/** What each word of the language means, in one or two sentences: hovers and completion. */

export interface WordHelp {
  readonly word: string;
  readonly text: string;
  readonly example: string;
}

export const STATEMENTS: readonly WordHelp[] = [
  { word: "amp", text: "Names the amplifier.", example: 'amp "Wattlebird 18"' },
  {
    word: "mains",
    text: "The supply it is plugged into: volts, frequency and region. The region brings tolerance, plug polarity and colours.",
    example: "mains 230 V 50 Hz AU",
  },
  {
    word: "assume",
    text: "Conditions for the check: ambient, the mains' own tolerance, derating, spread of valves, the outlet.",
    example: "assume ambient 50C",
  },
  {
    word: "measured",
    text: "A bench reading to hold against the computed one, or a safety-test record.",
    example: "measured HT1 312V at mains 236V",
  },
  {
    word: "waive",
    text: "Hides a finding but keeps it in every report. Mains and earth errors need a reason and stay visible as waived.",
    example: 'waive rating/capacitor-voltage on C21 because "part on order" until 2027-03-01',
  },
  {
    word: "include",
    text: "Brings in another file of the same folder tree.",
    example: 'include "supply.ampnet"',
  },
  {
    word: "block",
    text: "A stage to be repeated: its parts and nets are its own, save what is passed in and gnd and chassis.",
    example: "block gain(in, out, ht, v) { … }",
  },
  {
    word: "use",
    text: "Builds one copy of a block under a prefix.",
    example: "use gain(a, b, HT3, V1.a) as N",
  },
  {
    word: "metal",
    text: "Declares exposed metal besides the chassis, to be bonded.",
    example: "metal panel",
  },
];

export const WORDS: Readonly<Record<string, string>> = {
  gnd: "Circuit common. Nothing ties it to the chassis unless the file does.",
  chassis: "The metalwork.",
  active: "The live conductor of the mains.",
  neutral: "The neutral of the mains: it stays solid, unswitched alone and unfused alone.",
  earth: "The protective earth: on its own fixing, and the last lead to part.",
  anchored: "The cord is held by its own anchorage.",
  unanchored: "Nothing but the joints holds the cord.",
  "own-fixing": "The earth has a fixing that serves nothing else.",
  "shared-fixing": "The earth shares its fixing with something else.",
  tip: "The far contact: of a fuse holder, where the incoming active belongs; of a plug, the signal.",
  ring: "The side contact: of a fuse holder, the one that a finger can reach.",
  sleeve: "The jack's sleeve: common, and metal unless insulated.",
  plate: "The anode.",
  screen: "The second grid.",
  suppressor: "The third grid.",
  grid: "The control grid.",
  cathode: "The cathode; in a rectifier valve, where the supply comes out.",
  heater: "Two nets, the heater's ends; `series` or `parallel` where the valve offers both.",
  "no-load": "The winding's volts are the open-circuit ones.",
  dc: "The winding's amperes are the direct current of the supply that it feeds.",
  surge: "A capacitor's surge volts: a brief ceiling, not a working voltage.",
  ripple: "A capacitor's rated ripple current.",
  dcr: "A winding's resistance to direct current.",
  standby: "A switch that holds back the high tension while the heaters stay hot.",
  cloth: "Cloth-covered wire: no voltage is published for most of it.",
  insulated: "The jack's sleeve does not touch the metal.",
  plates: "The output transformer's plate winding: impedance, and nets from one plate to the other.",
  speaker: "The output transformer's speaker winding, or the loudspeaker itself.",
  primary: "The winding on the mains.",
  ultralinear: "Screens on taps of the plate winding.",
};
