import { nearNames } from "../../../grammar/near.ts";
import type { NetIndex, Switch, SwitchPole } from "../model.ts";
import { either, type Problems, problem } from "../problems.ts";
import { unknownTerminal, wireOne } from "../wire.ts";
import { amps, made, volts } from "./common.ts";
import type { Building, KindSpec, RawPart, TerminalItem } from "./kind.ts";

const commonWords = ["common", "com", "c", "pole"];
const onWords = ["on", "closed"];
const offWords = ["off", "open"];
const throwNumber = /^[1-9][0-9]?$/;

/** `common`, `on`, `off` or a throw's number. */
function contactOf(word: string): string | undefined {
  if (commonWords.includes(word)) return "common";
  if (onWords.includes(word)) return "on";
  if (offWords.includes(word)) return "off";
  return throwNumber.test(word) ? word : undefined;
}

const poleCounts: Readonly<Record<string, number>> = { spst: 1, spdt: 1, dpst: 2, dpdt: 2 };
const contactNames = ["common", "on", "off", "1", "2"];

export const switchKind: KindSpec = {
  kind: "switch",
  description:
    "A switch: `mains`, `standby`, or a name of its own; common on the left of a path, on on the right.",
  example: "fused -- switch S1 mains 250V 6A -- live",
  terminals: [
    { name: "common", aliases: commonWords.slice(1), description: "the moving contact" },
    { name: "on", aliases: onWords.slice(1), description: "joined to common when on" },
    { name: "off", aliases: offWords.slice(1), description: "joined to common when off" },
  ],
  path: true,
  facts: {
    numbers: [
      { ...volts, example: "250V" },
      { ...volts, alternating: true, example: "250VAC" },
      { ...volts, field: "voltsDirect", direct: true, what: "dc voltage", example: "dc 400V" },
      { ...amps, example: "6A" },
    ],
    words: {
      spst: { field: "throws", value: "spst", description: "One pole, on or off." },
      spdt: { field: "throws", value: "spdt", description: "One pole, two throws." },
      dpst: { field: "throws", value: "dpst", description: "Two poles, on or off together." },
      dpdt: { field: "throws", value: "dpdt", description: "Two poles, two throws." },
      "centre-off": { field: "centre", value: "centre-off", description: "Open in its middle position." },
      "center-off": { field: "centre", value: "centre-off", description: "Open in its middle position." },
    },
    type: { example: "mains", required: false },
  },
  limits: ["voltage", "current", "dc voltage", "inrush"],
  wire,
  terminalKey(_raw, pieces) {
    const contact = contactOf(pieces[pieces.length - 1] ?? "");
    if (!contact || pieces.length > 2) return undefined;
    return pieces.length === 2 ? `${pieces[0]}.${contact}` : contact;
  },
  terminalNames: (raw) => [...raw.wiring.keys()],
  build,
};

function wire(raw: RawPart, problems: Problems): void {
  const one = (item: TerminalItem, prefix: string) => {
    const contact = contactOf(item.terminal.text);
    if (!contact) unknownTerminal(raw, item.terminal, contactNames, problems);
    else wireOne(raw, prefix + contact, item.terminal, item.nets[0], problems);
  };
  for (const item of raw.items) {
    if (item.node === "terminal") one(item, "");
    else for (const terminal of item.terminals) one(terminal, `${item.name.text}.`);
  }
}

function build(building: Building): Switch {
  const { base, facts, raw } = building;
  const poles = new Map<string, { common?: NetIndex; throws: Map<string, NetIndex> }>();
  const pole = (name: string) => {
    let found = poles.get(name);
    if (!found) {
      found = { throws: new Map() };
      poles.set(name, found);
    }
    return found;
  };
  // A pole with nothing wired is still a pole.
  for (const item of raw.items) if (item.node === "row") pole(item.name.text);
  for (const [key, net] of base.terminals) {
    const dot = key.lastIndexOf(".");
    const contact = key.slice(dot + 1);
    const own = pole(dot < 0 ? "" : key.slice(0, dot));
    if (contact === "common") own.common = net;
    else own.throws.set(contact, net);
  }
  tellPoles(building, poles.size);
  tellDuty(building);
  const list: SwitchPole[] = [...poles].map(([name, { common, throws }]) => ({
    name,
    common,
    throws: new Map([...throws].sort(([one], [other]) => rank(one) - rank(other))),
  }));
  if (list.length === 0) list.push({ name: "", throws: new Map() });
  const numbers = list.flatMap((one) =>
    [...one.throws.keys()].filter((name) => throwNumber.test(name)).map(Number),
  );
  const most = Math.max(0, ...numbers);
  const named = list.some((one) => one.throws.has("on") || one.throws.has("off"));
  const positions: string[] = [];
  if (most === 0 || named) positions.push("on", "off");
  // A number in the middle that is not wired is a position all the same, and so is the other throw of a changeover.
  const throws = facts.words.throws;
  const least = most > 0 && (throws === "spdt" || throws === "dpdt" || most === 1) ? 2 : 0;
  for (let number = 1; number <= Math.max(most, least); number++) positions.push(String(number));
  if (facts.words.centre) positions.push("centre");
  return made<Switch>(base, {
    kind: "switch",
    duty: facts.type?.text ?? "",
    poles: list,
    positions,
    volts: facts.numbers.volts,
    voltsDirect: facts.numbers.voltsDirect,
    amps: facts.numbers.amps,
  });
}

function rank(name: string): number {
  return name === "on" ? 0 : name === "off" ? 1 : Number(name) + 1;
}

function tellPoles({ raw, facts, problems }: Building, written: number): void {
  const throws = facts.words.throws;
  const count = throws === undefined ? undefined : poleCounts[throws];
  if (count === undefined || written <= count) return;
  problems.push(
    problem(
      "circuit/unknown-fact",
      `${raw.reference} is ${throws}, which has ${count === 1 ? "one pole" : "two poles"}, and ${written} are written.`,
      raw.place.file,
      (facts.places.get("throws") ?? raw.place).range,
      [raw.reference],
    ),
  );
}

/** A duty of its own is any word; one that is nearly another fact is a slip, and here a slip changes what is checked. */
function tellDuty(building: Building): void {
  const { raw, facts, problems } = building;
  const duty = facts.type;
  if (!duty || duty.text === "mains" || duty.text === "standby") return;
  const meant = nearNames(duty.text, ["mains", "standby", ...Object.keys(switchKind.facts.words)]);
  if (meant.length === 0) return;
  problems.push(
    problem(
      "circuit/unknown-fact",
      `${raw.reference}: ${duty.text} is taken for a name of its own. Did you mean ${either(meant)}?`,
      raw.place.file,
      duty.range,
      [raw.reference],
      { fix: { title: `Write ${meant[0]}`, place: building.place(duty.range), text: meant[0] } },
    ),
  );
}
