/** The words that the language itself knows, and the shapes that tell a name from a value. Pure data, no parsing. */
import { shape } from "./letters.ts";

/** Every kind of part. */
export const kinds: readonly string[] = [
  "resistor",
  "pot",
  "thermistor",
  "capacitor",
  "choke",
  "diode",
  "zener",
  "bridge",
  "valve",
  "transformer",
  "output-transformer",
  "cord",
  "inlet",
  "fuse",
  "switch",
  "bond",
  "wire",
  "jack",
  "lamp",
  "speaker",
  "source",
  "terminal-strip",
];

/** Words that begin a statement which is no part. */
export const statementWords: readonly string[] = [
  "amp",
  "mains",
  "metal",
  "assume",
  "measured",
  "waive",
  "include",
  "block",
  "use",
];

/** What else a part is called, and the kind that it is here; offered where such a word stands for a kind. */
export const otherNames: Readonly<Record<string, readonly string[]>> = {
  tube: ["valve"],
  rectifier: ["valve", "bridge", "diode"],
  potentiometer: ["pot"],
  trimmer: ["pot"],
  preset: ["pot"],
  condenser: ["capacitor"],
  cap: ["capacitor"],
  inductor: ["choke"],
  coil: ["choke"],
  loudspeaker: ["speaker"],
  socket: ["jack", "inlet"],
  plug: ["cord", "inlet"],
  lead: ["cord", "wire"],
  flex: ["cord"],
  cable: ["cord", "wire"],
  led: ["lamp", "diode"],
  bulb: ["lamp"],
  neon: ["lamp"],
  battery: ["source"],
  earth: ["bond"],
  ground: ["bond"],
  opt: ["output-transformer"],
  ntc: ["thermistor"],
  inrush: ["thermistor"],
};

/** Kinds whose reference may be left out. */
export const unnamedKinds: ReadonlySet<string> = new Set(["wire", "bond"]);

/** An example reference of each kind, for messages. */
export const exampleReference: Readonly<Record<string, string>> = {
  resistor: "R7",
  pot: "R7",
  thermistor: "TH1",
  capacitor: "C7",
  choke: "L1",
  diode: "D1",
  zener: "D2",
  bridge: "D3",
  valve: "V1",
  transformer: "T1",
  "output-transformer": "T2",
  cord: "W1",
  inlet: "J3",
  fuse: "F1",
  switch: "S1",
  bond: "E1",
  wire: "W2",
  jack: "J1",
  lamp: "LP1",
  speaker: "LS1",
  source: "B1",
  "terminal-strip": "TS1",
};

/**
 * Words that stand before a quantity and say what it measures (`surge 550V`). A word outside this list never takes the
 * quantity behind it: in `carbon-film 5%` the two are separate facts.
 */
export const labels: ReadonlySet<string> = new Set([
  "ambient",
  "at",
  "cold",
  "drop",
  "dcr",
  "esr",
  "hot",
  "insulation",
  "leakage",
  "peak",
  "resistance",
  "ripple",
  "slope",
  "standing",
  "strike",
  "striking",
  "surge",
  "tap",
  "working",
]);

const colours = [
  "brown",
  "blue",
  "light-blue",
  "green-yellow",
  "green",
  "yellow",
  "black",
  "white",
  "red",
  "orange",
  "grey",
  "gray",
  "violet",
  "purple",
  "pink",
  "turquoise",
];

/** Words that are facts wherever they stand, and so are never taken for a reference. */
export const factWords: ReadonlySet<string> = new Set([
  ...colours,
  ...labels,
  "anchored",
  "unanchored",
  "own-fixing",
  "shared-fixing",
  "cloth",
  "film",
  "paper",
  "ceramic",
  "mica",
  "electrolytic",
  "carbon-composition",
  "carbon-film",
  "metal-film",
  "metal-oxide",
  "wirewound",
  "audio",
  "log",
  "lin",
  "linear",
  "mains",
  "standby",
  "spst",
  "spdt",
  "dpst",
  "dpdt",
  "centre-off",
  "insulated",
  "neon",
  "no-load",
  "dc",
]);

/** Words that may follow a heater's nets. */
export const heaterWords: ReadonlySet<string> = new Set(["series", "parallel"]);
export const heaterTerminals: ReadonlySet<string> = new Set(["heater", "filament"]);

const netShape = shape(
  /^(?:[A-Za-z0-9_]+|[0-9_]*[A-Za-z][A-Za-z0-9_+]*)$/,
  String.raw`^(?:[\p{L}\p{N}_]+|[\p{N}_]*\p{L}[\p{L}\p{N}_+]*)$`,
);
/** A word behind the first dot of a terminal, and a tag of a terminal strip: signs inside it. */
export const isPieceOfName = shape(
  /^[A-Za-z0-9_][A-Za-z0-9_+-]*$/,
  String.raw`^[\p{L}\p{N}_][\p{L}\p{N}_+-]*$`,
);
const referenceShape = shape(
  /^[A-Za-z_][A-Za-z0-9_]*(?:\.[A-Za-z0-9_]+)*$/,
  String.raw`^[\p{L}_][\p{L}\p{N}_]*(?:\.[\p{L}\p{N}_]+)*$`,
);

/**
 * Can this word name a net? Letters, digits, `_`, and `+` once a letter has stood; or a terminal written
 * `part.section.terminal`, whose tail may hold `-` as well (`J1.tip-break`).
 */
export function isNetName(text: string): boolean {
  const dot = text.indexOf(".");
  if (dot < 0) return netShape(text);
  // A part's reference stands first: `6.3V` is no terminal.
  if (!referenceShape(text.slice(0, dot))) return false;
  return text
    .slice(dot + 1)
    .split(".")
    .every(isPieceOfName);
}

/** Can this word be a part's reference (`R7`, `V1.a`, `v`)? It begins with a letter; letters, digits, `_`, and dots inside. */
export function isReferenceShape(text: string): boolean {
  return referenceShape(text);
}
