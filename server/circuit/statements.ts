/** Statements that are no parts: the amplifier's name, its mains, assumptions, metal, readings and waivers. */
import { nearNames } from "../../grammar/near.ts";
import type {
  AssumeStatement,
  Fact,
  MainsStatement,
  MeasuredStatement,
  MetalStatement,
  Range,
  WaiveStatement,
  Word,
} from "../../grammar/tree.ts";
import { margins } from "../facts/margins.ts";
import { defaultAmbient, mainsRange, regions, supplyRange, unregioned } from "../facts/regions.ts";
import { valveSpread } from "../facts/valves/practice.ts";
import type { Placed } from "./expand.ts";
import { kindSpecs } from "./kinds/index.ts";
import { type RawPart, wiringOf } from "./kinds/kind.ts";
import type {
  Assumptions,
  Circuit,
  Given,
  MainsSupply,
  Measurement,
  NetIndex,
  Part,
  Place,
  Region,
  Waiver,
} from "./model.ts";
import type { Nets } from "./nets.ts";
import { either, near, type Problems, problem } from "./problems.ts";
import { fullReference, type Scope, sharedNets } from "./scope.ts";

const regionNames = Object.keys(regions) as Region[];
/** A file with more problems than this is looked through for near names no further: each costs a look at every name. */
const mostNear = 200;
const subjects = ["ambient", "mains", "derate", "outlet", "valve-spread", "meter", "service"];
/** What `assume derate` may name: kinds of part, the families that margins are kept by, and the bench's own. */
const families = [
  ...new Set([...kindSpecs.map((spec) => spec.kind as string), ...Object.keys(margins), "bench"]),
];
const records = ["earth-continuity", "insulation", "earth-leakage"] as const;
const recordWords: Readonly<Record<string, (typeof records)[number]>> = {
  "earth-continuity": "earth-continuity",
  continuity: "earth-continuity",
  insulation: "insulation",
  "earth-leakage": "earth-leakage",
  leakage: "earth-leakage",
};

type Target = Measurement["target"];
type Rest = Pick<
  Circuit,
  "name" | "ampPlace" | "mains" | "assumptions" | "metals" | "measurements" | "waivers"
>;

export class Conditions {
  private name: { readonly text: string; readonly place: Place } | undefined;
  private mains: { readonly statement: MainsStatement; readonly scope: Scope } | undefined;
  private readonly assumed: { readonly statement: AssumeStatement; readonly scope: Scope }[] = [];
  private readonly measured: { readonly statement: MeasuredStatement; readonly scope: Scope }[] = [];
  private readonly metals: { readonly net: NetIndex; readonly place: Place }[] = [];
  private readonly waivers: Waiver[] = [];

  constructor(
    private readonly raw: ReadonlyMap<string, RawPart>,
    private readonly nets: Nets,
    private readonly problems: Problems,
  ) {}

  read({ statement, scope }: Placed): void {
    switch (statement.node) {
      case "amp":
        this.name ??= { text: statement.name.text, place: { file: scope.file, range: statement.range } };
        break;
      case "mains":
        if (!this.mains) this.mains = { statement, scope };
        else
          this.tellTwice(
            "The mains is",
            statement.range,
            scope,
            this.mains.statement.range,
            this.mains.scope.file,
          );
        break;
      case "assume":
        this.assumed.push({ statement, scope });
        break;
      case "measured":
        this.measured.push({ statement, scope });
        break;
      case "metal":
        this.metal(statement, scope);
        break;
      case "waive":
        this.waivers.push(waiverOf(statement, scope));
        break;
    }
  }

  /** Once every net and part is known. */
  finish(parts: ReadonlyMap<string, Part>): Rest {
    const { assumptions, tolerance } = this.assumptions();
    return {
      name: this.name?.text,
      ampPlace: this.name?.place,
      mains: this.supply(tolerance),
      assumptions,
      metals: this.metals,
      measurements: this.measured.flatMap(
        ({ statement, scope }) => this.measurement(statement, scope, parts) ?? [],
      ),
      waivers: this.waivers,
    };
  }

  private tell(
    rule: string,
    message: string,
    range: Range,
    scope: Scope,
    on: string,
    more: Parameters<typeof problem>[5] = {},
  ): void {
    this.problems.push(problem(rule, message, scope.file, range, [on], more));
  }

  private tellTwice(what: string, range: Range, scope: Scope, first: Range, firstFile: string): void {
    this.tell(
      "circuit/duplicate-reference",
      `${what} given twice; the first counts.`,
      range,
      scope,
      "mains",
      {
        related: [{ message: "the first one", place: { file: firstFile, range: first }, on: "mains" }],
      },
    );
  }

  private metal({ net, facts, range }: MetalStatement, scope: Scope): void {
    this.metals.push({ net: this.nets.resolve(net, scope), place: { file: scope.file, range } });
    for (const fact of facts) {
      this.tell(
        "circuit/unknown-fact",
        `${net.text}: ${fact.text} cannot stand behind a metal's name.`,
        fact.range,
        scope,
        net.text,
      );
    }
  }

  // ── mains ────────────────────────────────────────────────────
  private supply(tolerance: Tolerance | undefined): MainsSupply {
    let volts: number | undefined;
    let hertz: number | undefined;
    let region: Region | undefined;
    const { statement, scope } = this.mains ?? {};
    for (const fact of statement?.facts ?? []) {
      const place = { file: scope!.file, range: fact.range };
      const { quantity } = fact;
      if (quantity?.unit === "volt" && volts === undefined && quantity.value > 0 && quantity.value <= 1000) {
        volts = quantity.value;
      } else if (
        quantity?.unit === "hertz" &&
        hertz === undefined &&
        quantity.value > 0 &&
        quantity.value <= 1000
      ) {
        hertz = quantity.value;
      } else if (fact.word && !quantity) {
        const known = regionNames.find((name) => name === fact.word!.text);
        if (known && region === undefined) {
          region = known;
          continue;
        }
        const { sentence, fix } = near(fact.word.text, regionNames, place, "Regions");
        this.tell(
          "circuit/unknown-fact",
          known ? "The mains has a region already." : `${fact.word.text} is no region.${sentence}`,
          fact.range,
          scope!,
          "mains",
          { fix: known ? undefined : fix },
        );
      } else {
        this.tell(
          "circuit/unit",
          `mains: ${fact.text} is not expected here. Expected its volts, its hertz and its region: mains 230 V 50 Hz AU.`,
          fact.range,
          scope!,
          "mains",
        );
      }
    }
    const published = region ? regions[region] : unregioned;
    const nominal = volts ?? published.volts;
    const range = tolerance
      ? { volts: mainsRange(nominal, tolerance), source: tolerance.source }
      : region
        ? supplyRange(published, nominal)
        : { volts: mainsRange(nominal, published.tolerance), source: published.source };
    return {
      given: statement !== undefined,
      place: statement && { file: scope!.file, range: statement.range },
      hertz: hertz ?? published.hertz,
      region,
      volts: range.volts,
      toleranceSource: range.source,
    };
  }

  // ── assumptions ──────────────────────────────────────────────
  private assumptions(): { readonly assumptions: Assumptions; readonly tolerance?: Tolerance } {
    let ambientCelsius: Given = {
      value: defaultAmbient.value,
      origin: "default",
      source: defaultAmbient.source,
    };
    let spread: Given = { value: valveSpread.fraction, origin: "default", source: valveSpread.source };
    let outlet: Assumptions["outlet"];
    let tolerance: Tolerance | undefined;
    const derate = new Map<string, Given>();
    const other = new Map<string, Given>();
    for (const { statement, scope } of this.assumed) {
      const { subject, facts } = statement;
      const given = (fact: Fact, scale = 1): Given => ({
        value: fact.quantity!.value * scale,
        origin: "file",
        place: { file: scope.file, range: fact.range },
      });
      const wrong = (expected: string, fact: Fact | undefined) =>
        this.tell(
          "circuit/unit",
          `assume ${subject.text}: expected ${expected}${fact ? `; found ${fact.text}` : ""}.`,
          fact?.range ?? statement.range,
          scope,
          "assume",
        );
      const [first, ...further] = facts;
      switch (subject.text) {
        case "ambient": {
          const value = first?.quantity;
          const isCelsius = value?.unit === "celsius" || value?.unit === "none";
          if (value && isCelsius && value.value >= -50 && value.value <= 200) ambientCelsius = given(first);
          else wrong("a temperature, such as 50C", first);
          for (const fact of further) wrong("one temperature", fact);
          break;
        }
        case "mains":
          tolerance = toleranceOf(facts, (fact) => wrong("a tolerance, such as +10% -6%", fact)) ?? tolerance;
          break;
        case "derate":
          this.derating(statement, scope, derate, wrong, given);
          break;
        case "outlet": {
          const word = first?.word?.text;
          if (word === "polarised" || word === "polarized") outlet = "polarised";
          else if (word === "unpolarised" || word === "unpolarized") outlet = "unpolarised";
          else wrong("polarised or unpolarised", first);
          break;
        }
        case "valve-spread": {
          const value = first?.quantity;
          if (value?.unit === "percent" && value.value >= 0 && value.value <= 100)
            spread = given(first, 0.01);
          else wrong("a spread, such as 20%", first);
          break;
        }
        default:
          this.otherSubject(subject, first, scope, other, given);
      }
    }
    return { assumptions: { ambientCelsius, derate, valveSpread: spread, outlet, other }, tolerance };
  }

  private derating(
    { facts }: AssumeStatement,
    scope: Scope,
    derate: Map<string, Given>,
    wrong: (expected: string, fact: Fact | undefined) => void,
    given: (fact: Fact, scale: number) => Given,
  ): void {
    let family: Word | undefined;
    for (const fact of facts) {
      const { quantity, word } = fact;
      if (quantity) {
        if (!family) wrong("a kind of part before its share, such as resistor 50%", fact);
        else if (quantity.unit !== "percent" || !(quantity.value > 0 && quantity.value <= 100))
          wrong("a share of the rating, such as 50%", fact);
        else derate.set(family.text, given(fact, 0.01));
        family = undefined;
      } else if (word && families.includes(word.text)) family = word;
      else if (word) {
        const { sentence, fix } = near(word.text, families, { file: scope.file, range: word.range });
        this.tell(
          "circuit/unknown-fact",
          `assume derate: there is no kind of part called ${word.text}.${sentence}`,
          word.range,
          scope,
          "assume",
          { fix },
        );
        // Its share belongs to it and is passed over.
        family = word;
      } else wrong("a kind of part and a share, such as resistor 50%", fact);
    }
    if (family && families.includes(family.text))
      wrong(`a share behind ${family.text}, such as 50%`, undefined);
  }

  private otherSubject(
    subject: Word,
    first: Fact | undefined,
    scope: Scope,
    other: Map<string, Given>,
    given: (fact: Fact, scale?: number) => Given,
  ): void {
    if (first?.quantity) other.set(subject.text, given(first, first.quantity.unit === "percent" ? 0.01 : 1));
    if (subjects.includes(subject.text)) return;
    const { sentence, fix } = near(
      subject.text,
      subjects,
      { file: scope.file, range: subject.range },
      "What may be assumed",
    );
    this.tell(
      "circuit/unknown-fact",
      `Nothing here depends on an assumption called ${subject.text}.${sentence}`,
      subject.range,
      scope,
      "assume",
      { fix },
    );
  }

  // ── readings ─────────────────────────────────────────────────
  private measurement(
    statement: MeasuredStatement,
    scope: Scope,
    parts: ReadonlyMap<string, Part>,
  ): Measurement | undefined {
    const { target, value, at } = statement;
    if (!value?.quantity) return undefined;
    const on = target.text;
    const record = !statement.across ? recordWords[on] : undefined;
    let unit: string = value.quantity.unit;
    // `250M` behind insulation has no letter for ohms, and can mean nothing else.
    if (unit === "none" && record && record !== "earth-leakage") unit = "ohm";
    if (unit !== "volt" && unit !== "ampere" && unit !== "ohm") {
      this.tell(
        "circuit/unit",
        `measured ${on}: expected volts, amperes or ohms; found ${value.text}.`,
        value.range,
        scope,
        on,
      );
      return undefined;
    }
    const found = record
      ? this.record(record, unit, value, scope)
      : this.target(statement, scope, unit, value, parts);
    if (!found) return undefined;
    const volts = at?.quantity?.unit === "volt" ? at.quantity.value : undefined;
    if (at && volts === undefined) {
      this.tell(
        "circuit/unit",
        `measured ${on}: expected the volts that it was taken at, such as at mains 236V; found ${at.text}.`,
        at.range,
        scope,
        on,
      );
    }
    const isTest = record === "insulation";
    return {
      place: { file: scope.file, range: statement.range },
      target: found,
      value: value.quantity.value,
      unit,
      valuePlace: { file: scope.file, range: value.range },
      atMainsVolts: isTest ? undefined : volts,
      atTestVolts: isTest ? volts : undefined,
    };
  }

  private record(
    kind: (typeof records)[number],
    unit: string,
    value: Fact,
    scope: Scope,
  ): Target | undefined {
    const expected = kind === "earth-leakage" ? "ampere" : "ohm";
    if (unit === expected) return { kind };
    this.tell(
      "circuit/unit",
      `measured ${kind}: expected ${expected === "ohm" ? "ohms, such as 0.08R" : "amperes, such as 0.4mA"}; found ${value.text}.`,
      value.range,
      scope,
      kind,
    );
    return undefined;
  }

  private target(
    { target, across }: MeasuredStatement,
    scope: Scope,
    unit: "volt" | "ampere" | "ohm",
    value: Fact,
    parts: ReadonlyMap<string, Part>,
  ): Target | undefined {
    const on = target.text;
    if (unit === "ohm") {
      this.tell(
        "circuit/unit",
        `measured ${on}: expected volts or amperes; found ${value.text}. Ohms are measured for earth-continuity and insulation.`,
        value.range,
        scope,
        on,
      );
      return undefined;
    }
    const { prefix, text } = fullReference(on, scope);
    const full = prefix + text;
    const part = parts.get(full);
    if (across || (part && unit === "ampere")) {
      const reference = part ? full : this.halfOf(full, parts);
      if (!reference) {
        this.tellNoPart(target, full, scope, parts);
        return undefined;
      }
      if (unit === "ampere" && part?.kind === "valve") {
        this.tell(
          "circuit/unknown-terminal",
          `measured ${on}: say which electrode's current it is, such as ${on}.plate.`,
          target.range,
          scope,
          on,
        );
        return undefined;
      }
      return unit === "volt" ? { kind: "across", reference } : { kind: "through", reference };
    }
    const net = this.netOf(target, scope);
    if (unit === "ampere") return this.current(target, full, net, scope, parts);
    if (net !== undefined) return this.electrode(full, net, parts) ?? { kind: "net", net, name: on };
    const half = this.halfOf(full, parts);
    if (half) return { kind: "across", reference: half };
    // Volts at a part with two ends can only be those across it.
    if (part) return { kind: "across", reference: full };
    this.tellNoNet(target, scope);
    return undefined;
  }

  private current(
    target: Word,
    full: string,
    net: NetIndex | undefined,
    scope: Scope,
    parts: ReadonlyMap<string, Part>,
  ): Target | undefined {
    const half = this.halfOf(full, parts);
    if (half) return { kind: "through", reference: half };
    const electrode = net === undefined ? undefined : this.electrode(full, net, parts);
    if (electrode) return electrode;
    for (let dot = full.lastIndexOf("."); dot > 0; dot = full.lastIndexOf(".", dot - 1)) {
      const reference = full.slice(0, dot);
      if (parts.has(reference) && net !== undefined) return { kind: "through", reference };
    }
    if (net !== undefined) {
      this.tell(
        "circuit/unit",
        `measured ${target.text}: a current flows through a part or into an electrode, such as R14 or V3.plate; ${target.text} is a net.`,
        target.range,
        scope,
        target.text,
      );
    } else this.tellNoPart(target, full, scope, parts);
    return undefined;
  }

  /** An electrode of a valve: reference `V1.a` and electrode `plate`, which together are the key of its readings. */
  private electrode(full: string, net: NetIndex, parts: ReadonlyMap<string, Part>): Target | undefined {
    for (let dot = full.lastIndexOf("."); dot > 0; dot = full.lastIndexOf(".", dot - 1)) {
      const raw = this.raw.get(full.slice(0, dot));
      const part = raw && parts.get(raw.reference);
      if (part?.kind !== "valve") continue;
      const words = full.slice(dot + 1).split(".");
      const found = this.nets.keyOf(raw!, words);
      // One word that stands for an end of the filament is the cathode of a directly heated valve.
      const key = found?.startsWith("heater.") && words.length === 1 ? "cathode" : found;
      if (!key || key.startsWith("heater.")) return undefined;
      const [section, electrode] = key.includes(".") ? key.split(".") : ["", key];
      const reference = section === "" ? part.reference : `${part.reference}.${section}`;
      return { kind: "electrode", reference, electrode, net };
    }
    return undefined;
  }

  /** A winding (`T1.ht`), a heater (`V3.heater`), or a half of a pot: a key of readings that is no terminal. */
  private halfOf(full: string, parts: ReadonlyMap<string, Part>): string | undefined {
    const dot = full.lastIndexOf(".");
    const part = dot > 0 ? parts.get(full.slice(0, dot)) : undefined;
    const row = full.slice(dot + 1);
    switch (part?.kind) {
      case "valve":
        return part.heater && (row === "heater" || row === "filament")
          ? `${part.reference}.heater`
          : undefined;
      case "transformer":
        return [part.primary, ...part.secondaries].some((winding) => winding?.name === row)
          ? full
          : undefined;
      case "output-transformer":
        return (row === "plates" && part.plates) || (row === "speaker" && part.speaker) ? full : undefined;
      default:
        return undefined;
    }
  }

  /** The net that a reading names, counted; undefined where there is none. Never makes one. */
  private netOf(target: Word, scope: Scope): NetIndex | undefined {
    const { text } = target;
    if (!text.includes(".")) {
      const name = sharedNets.has(text) || scope.passed?.has(text) ? undefined : scope.prefix + text;
      if (name !== undefined && this.nets.find(name) === undefined) return undefined;
      if (name === undefined && sharedNets.has(text) && this.nets.find(text) === undefined) return undefined;
      return this.nets.mention(wiringOf(target, scope));
    }
    const { prefix, text: resolved } = fullReference(text, scope);
    const full = prefix + resolved;
    if (this.nets.find(full) !== undefined) return this.nets.mention(wiringOf(target, scope));
    for (let dot = full.lastIndexOf("."); dot > 0; dot = full.lastIndexOf(".", dot - 1)) {
      const raw = this.raw.get(full.slice(0, dot));
      if (!raw) continue;
      const key = this.nets.keyOf(raw, full.slice(dot + 1).split("."));
      if (key === undefined || this.nets.terminal(raw, key) === undefined) return undefined;
      return this.nets.mention(wiringOf(target, scope));
    }
    return undefined;
  }

  private tellNoPart(target: Word, full: string, scope: Scope, parts: ReadonlyMap<string, Part>): void {
    const place = { file: scope.file, range: target.range };
    const { sentence, fix } = near(full, this.problems.length < mostNear ? [...parts.keys()] : [], place);
    this.tell(
      "circuit/unknown-reference",
      `measured: there is no part called ${target.text}.${sentence}`,
      target.range,
      scope,
      target.text,
      { fix },
    );
  }

  private tellNoNet(target: Word, scope: Scope): void {
    const close = this.problems.length < mostNear ? nearNames(target.text, this.nets.everyName()) : [];
    const place = { file: scope.file, range: target.range };
    this.tell(
      "circuit/unknown-net",
      `measured: there is no net called ${target.text}.${close.length > 0 ? ` Did you mean ${either(close)}?` : ""}`,
      target.range,
      scope,
      target.text,
      { fix: close.length > 0 ? { title: `Write ${close[0]}`, place, text: close[0] } : undefined },
    );
  }
}

interface Tolerance {
  readonly low: number;
  readonly high: number;
  readonly source: string;
}

/**
 * `+10% -6%`; `10%` alone (or ±10%) is both ways, `+6%` alone upwards only. Fractions of the nominal volts.
 */
function toleranceOf(facts: readonly Fact[], wrong: (fact: Fact | undefined) => void): Tolerance | undefined {
  let low: number | undefined;
  let high: number | undefined;
  for (const fact of facts) {
    const { quantity, text } = fact;
    if (quantity?.unit !== "percent" || !(Math.abs(quantity.value) < 100)) {
      wrong(fact);
      continue;
    }
    const share = quantity.value / 100;
    if (text.startsWith("+") && high === undefined) high = share;
    else if (/^[-−]/.test(text) && low === undefined) low = share;
    else if (/^[\d.±]/.test(text) && low === undefined && high === undefined) {
      low = -share;
      high = share;
    } else wrong(fact);
  }
  if (low === undefined && high === undefined) {
    if (facts.length === 0) wrong(undefined);
    return undefined;
  }
  return { low: low ?? 0, high: high ?? 0, source: "as the file assumes" };
}

function waiverOf(statement: WaiveStatement, scope: Scope): Waiver {
  const { rule, on, because, until, range } = statement;
  const full = on && fullReference(on.text, scope);
  const isShared = on !== undefined && sharedNets.has(on.text);
  return {
    place: { file: scope.file, range },
    rule: rule.text,
    on: full && (isShared ? on.text : full.prefix + full.text),
    reason: because?.text,
    until: until?.text,
  };
}
