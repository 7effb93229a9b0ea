/** Trees as short text, for expectations that show what was understood and nothing else. */
import type {
  BodyItem,
  Fact,
  PathPart,
  Quantity,
  RowItem,
  Statement,
  TerminalItem,
  Word,
} from "../../grammar/tree.ts";

const units: Readonly<Record<string, string>> = {
  none: "",
  ohm: " ohm",
  farad: " farad",
  henry: " henry",
  volt: " volt",
  ampere: " ampere",
  watt: " watt",
  voltampere: " voltampere",
  hertz: " hertz",
  percent: " percent",
  metre: " metre",
  "square-metre": " square-metre",
  celsius: " celsius",
  second: " second",
};

export function quantity(one: Quantity): string {
  return `${one.value}${units[one.unit]}${one.alternating ? " ac" : ""}`;
}

export function fact(one: Fact): string {
  const label = one.label ? `${one.label.text}: ` : "";
  if (one.fuse) return `fuse ${one.fuse.letter} ${one.fuse.amps}`;
  if (one.series) return `series ${one.series.map(quantity).join(", ")}`;
  if (one.quantity) return `${label}${quantity(one.quantity)}${one.direct ? " dc" : ""}`;
  return `'${one.word?.text}'`;
}

const texts = (words: readonly Word[]) => words.map(({ text }) => text).join(" ");
const list = (facts: readonly Fact[]) => facts.map((one) => ` [${fact(one)}]`).join("");

export function part(one: PathPart): string {
  return `${one.kind.text} ${one.reference?.text ?? "-"}${list(one.facts)}`;
}

function terminal(one: TerminalItem): string {
  return `${one.terminal.text}: ${texts(one.nets)}${list(one.facts)}`;
}

function row(one: RowItem): string {
  return `${one.name.text}${list(one.facts)} { ${[texts(one.nets), ...one.terminals.map(terminal)].filter(Boolean).join("; ")} }`;
}

export function item(one: BodyItem): string {
  return one.node === "terminal" ? terminal(one) : row(one);
}

export function statement(one: Statement): string {
  switch (one.node) {
    case "amp":
      return `amp "${one.name.text}"`;
    case "include":
      return `include "${one.file.text}"`;
    case "mains":
      return `mains${list(one.facts)}`;
    case "metal":
      return `metal ${one.net.text}${list(one.facts)}`;
    case "assume":
      return `assume ${one.subject.text}${list(one.facts)}`;
    case "measured": {
      const at = one.at ? ` at [${fact(one.at)}]` : "";
      return `measured ${one.across ? "across " : ""}${one.target.text} [${one.value ? fact(one.value) : ""}]${at}`;
    }
    case "waive":
      return `waive ${one.rule.text} on ${one.on?.text} because ${one.because?.text} until ${one.until?.text}`;
    case "part": {
      const body = one.body ? ` { ${one.body.items.map(item).join(" | ")} }` : "";
      return part(one) + body;
    }
    case "path":
      return one.nets
        .map(({ text }, index) => (index > 0 ? `${part(one.parts[index - 1])} -- ${text}` : text))
        .join(" -- ");
    case "block":
      return `block ${one.name.text}(${texts(one.parameters)}) { ${one.statements.map(statement).join(" | ")} }`;
    case "use":
      return `use ${one.name.text}(${texts(one.arguments)}) as ${one.prefix?.text}`;
  }
}

/** A tree without its ranges, for comparing what two texts say. */
export function withoutRanges(value: unknown): unknown {
  if (Array.isArray(value)) return value.map(withoutRanges);
  if (typeof value !== "object" || value === null) return value;
  const entries = Object.entries(value).filter(([key, inner]) => key !== "range" && inner !== undefined);
  return Object.fromEntries(entries.map(([key, inner]) => [key, withoutRanges(inner)]));
}
