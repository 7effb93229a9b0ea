import { findValve, valveNames } from "../../../facts/valves/index.ts";
import { didYouMean } from "../../../../grammar/near.ts";
import { baseOf, type KindDefinition } from "../kind.ts";
import type { NetIndex, Place, Valve, ValveSection } from "../../model.ts";

export const electrodes = ["plate", "grid", "screen", "suppressor", "cathode", "plate1", "plate2"] as const;

export const valve: KindDefinition = {
  kind: "valve",
  help: "A valve or rectifier valve by its type, with its electrodes' nets; twin valves have a block for each section.",
  path: [],
  terminals: [...electrodes, "heater"],
  aliases: {
    anode: "plate",
    anode1: "plate1",
    anode2: "plate2",
    a: "plate",
    a1: "plate1",
    a2: "plate2",
    k: "cathode",
    filament: "heater",
    g: "grid",
    g1: "grid",
    g2: "screen",
    g3: "suppressor",
    "control-grid": "grid",
    "screen-grid": "screen",
    "suppressor-grid": "suppressor",
  },
  words: ["series", "parallel"],
  facts: [{ example: "EL84", what: "type, by any of its names", required: true }],
  limits: ["plate dissipation", "screen dissipation", "plate voltage", "screen voltage", "cathode current", "heater to cathode"],
  rows: "sections",
  // Sections of one bottle may stand in several statements: `valves.ts` gathers them.
  build: () => undefined,
};

/** One statement's share of a valve. */
export interface ValvePiece {
  readonly reference: string;
  readonly base: Omit<ReturnType<typeof baseOf>, "reference">;
  readonly typeWritten?: string;
  readonly typePlace?: Place;
  readonly sections: readonly ValveSection[];
  readonly heater?: Valve["heater"];
}

/** Makes the whole valve out of its statements. Problems with the type are told once, at its first mention. */
export function gatherValve(
  reference: string,
  pieces: readonly ValvePiece[],
  problem: (rule: string, message: string, place: Place, on: readonly string[]) => void,
): Valve {
  const typed = pieces.find((piece) => piece.typeWritten !== undefined);
  const facts = typed?.typeWritten === undefined ? undefined : findValve(typed.typeWritten);
  if (typed === undefined) {
    problem("circuit/missing-value", `valve ${reference} has no type, such as ECC83.`, pieces[0].base.referencePlace, [reference]);
  } else if (facts === undefined) {
    const near = didYouMean(typed.typeWritten ?? "", valveNames());
    problem("circuit/unknown-type", `${reference}: no valve called ${typed.typeWritten} is known here.${near} Its limits cannot be checked.`, typed.typePlace ?? pieces[0].base.referencePlace, [reference]);
  }
  for (const piece of pieces) {
    const other = piece.typeWritten === undefined || facts === undefined ? facts : findValve(piece.typeWritten);
    if (other !== facts && piece.typePlace)
      problem("circuit/duplicate-reference", `${reference} is a ${typed?.typeWritten} elsewhere and a ${piece.typeWritten} here; one bottle has one type.`, piece.typePlace, [reference]);
  }

  const sections = new Map<string, ValveSection>();
  for (const piece of pieces) {
    for (const section of piece.sections) {
      const name = section.name === "" && facts && facts.sections.length > 1 ? (facts.sections[0].name ?? "") : section.name;
      const known = facts?.sections.find((published) => published.name === name);
      if (facts && known === undefined && section.name !== "")
        problem("circuit/unknown-terminal", `${typed?.typeWritten} has no section ${section.name}.${facts.sections.length > 1 ? ` It has ${facts.sections.map((published) => published.name).join(" and ")}.` : " Its electrodes are written without a section."}`, section.place, [reference]);
      const before = sections.get(name);
      if (before === undefined) {
        sections.set(name, { ...section, name });
        continue;
      }
      const merged = new Map(before.electrodes);
      const places = new Map(before.electrodePlaces);
      for (const [electrode, net] of section.electrodes) {
        const place = section.electrodePlaces.get(electrode);
        if (merged.has(electrode) && merged.get(electrode) !== net && place)
          problem("circuit/duplicate-reference", `${reference}${name ? `.${name}` : ""}: its ${electrode} is on another net already.`, place, [reference]);
        else merged.set(electrode, net);
        if (place) places.set(electrode, place);
      }
      sections.set(name, { ...before, electrodes: merged, electrodePlaces: places });
    }
  }
  checkElectrodes(reference, typed?.typeWritten, facts, [...sections.values()], problem);

  const heaters = pieces.filter((piece) => piece.heater !== undefined);
  if (heaters.length > 1 && heaters[1].heater)
    problem("circuit/duplicate-reference", `${reference}: its heater is written twice; the first counts.`, heaters[1].heater.place, [reference]);

  const terminals = new Map<string, NetIndex>();
  const terminalPlaces = new Map<string, Place>();
  for (const section of sections.values()) {
    for (const [electrode, net] of section.electrodes) {
      const name = section.name === "" ? electrode : `${section.name}.${electrode}`;
      terminals.set(name, net);
      const place = section.electrodePlaces.get(electrode);
      if (place) terminalPlaces.set(name, place);
    }
  }
  const heater = heaters[0]?.heater;
  if (heater) {
    terminals.set("heater.1", heater.nets[0]);
    terminals.set("heater.2", heater.nets[1]);
    terminalPlaces.set("heater.1", heater.place);
    terminalPlaces.set("heater.2", heater.place);
  }
  const factPlaces = new Map<string, Place>();
  if (typed?.typePlace) factPlaces.set("type", typed.typePlace);
  const lead = typed ?? pieces[0];
  return {
    ...lead.base,
    reference,
    kind: "valve",
    terminals,
    terminalPlaces,
    factPlaces,
    typeWritten: typed?.typeWritten ?? "",
    ...(facts ? { type: facts.type } : {}),
    sections: [...sections.values()],
    ...(heater ? { heater } : {}),
  };
}

function checkElectrodes(
  reference: string,
  typeWritten: string | undefined,
  facts: ReturnType<typeof findValve>,
  sections: readonly ValveSection[],
  problem: (rule: string, message: string, place: Place, on: readonly string[]) => void,
): void {
  if (facts === undefined) return;
  for (const section of sections) {
    const published = facts.sections.find(({ name }) => name === section.name) ?? facts.sections[0];
    for (const electrode of section.electrodes.keys()) {
      if (published.electrodes.includes(electrode)) continue;
      // A suppressor joined to the cathode inside the bottle may be written all the same.
      if (electrode === "suppressor" && published.electrodes.includes("screen")) continue;
      const place = section.electrodePlaces.get(electrode) ?? section.place;
      problem("circuit/unknown-terminal", `${typeWritten} has no ${electrode}. Its electrodes are ${published.electrodes.join(", ")}.`, place, [reference]);
    }
  }
}
