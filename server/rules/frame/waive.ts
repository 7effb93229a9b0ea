/** Waivers: they hide nothing, they mark; and they are reported when nothing is left for them, or their date is past. */
import { closest, distance } from "fastest-levenshtein";
import { didYouMean } from "../../../grammar/near.ts";
import type { Circuit, Waiver } from "../../circuit/model.ts";
import { bookOf } from "../../facts/valves/book.ts";
import { sectionMeant } from "../../facts/valves/sections.ts";
import type { CheckOptions, Finding } from "../rule.ts";
import { isSafety } from "./severity.ts";

/** Findings with `waived` set where a waiver holds, and the findings about the waivers themselves. */
export function waive(
  circuit: Circuit,
  found: readonly Finding[],
  known: ReadonlySet<string>,
  options: CheckOptions,
): readonly Finding[] {
  if (circuit.waivers.length === 0) return found;
  const result = [...found];
  const about: Finding[] = [];
  for (const waiver of circuit.waivers) {
    const section = sectionOn(circuit, waiver.on);
    const matches = result.flatMap((finding, index) => (covers(waiver, section, finding) ? [index] : []));
    if (isPast(waiver, options.today)) {
      about.push(expired(waiver, matches.length, options.today ?? ""));
      continue;
    }
    let held = 0;
    let needsReason = 0;
    for (const index of matches) {
      const finding = result[index];
      if (isSafety(finding) && !waiver.reason?.trim()) {
        needsReason++;
        continue;
      }
      result[index] = {
        ...finding,
        waived: { reason: waiver.reason?.trim() || "no reason given", until: waiver.until },
      };
      held++;
    }
    const silenced = options.severity?.[waiver.rule] ?? options.severity?.[waiver.rule.split("/")[0]];
    if (needsReason > 0) about.push(unreasoned(waiver));
    else if (held === 0 && silenced !== "off") about.push(unused(circuit, waiver, known));
  }
  return [...result, ...about];
}

function covers(waiver: Waiver, section: string | undefined, finding: Finding): boolean {
  if (waiver.rule !== finding.rule || finding.rule.startsWith("circuit/waive-")) return false;
  if (waiver.on === undefined || finding.on.includes(waiver.on)) return true;
  return section !== undefined && finding.on.some((on) => on === section || on.startsWith(`${section}.`));
}

/** A valve's section, or an electrode of one, as findings name it: `V1.b` of an ECL82 is `V1.pentode`. */
function sectionOn(circuit: Circuit, on: string | undefined): string | undefined {
  for (
    let dot = on?.lastIndexOf(".") ?? -1;
    on !== undefined && dot > 0;
    dot = on.lastIndexOf(".", dot - 1)
  ) {
    const part = circuit.partByReference.get(on.slice(0, dot));
    if (part?.kind !== "valve") continue;
    const facts = part.type === undefined ? undefined : bookOf(circuit).find(part.type);
    const [word, ...electrode] = on.slice(dot + 1).split(".");
    const names = facts?.sections.map(({ name }) => name) ?? [];
    const section = sectionMeant(names, word);
    return section === undefined ? undefined : [part.reference, section, ...electrode].join(".");
  }
  return undefined;
}

/** A waiver holds through its last day. ISO dates compare as text. */
function isPast(waiver: Waiver, today: string | undefined): boolean {
  return waiver.until !== undefined && today !== undefined && today.slice(0, 10) > waiver.until;
}

function expired(waiver: Waiver, left: number, today: string): Finding {
  const rest =
    left > 0
      ? `what it held stands again (${left === 1 ? "one finding" : `${left} findings`})`
      : "nothing is left for it to hold: take it out";
  return about(
    "circuit/waive-expired",
    "warning",
    waiver,
    `The waiver of ${waiver.rule} ran until ${waiver.until}, today is ${today.slice(0, 10)}; ${rest}.`,
  );
}

/** A part, a net, or something of a part: `V1.a`, `T1.ht`. */
function isThere(circuit: Circuit, on: string): boolean {
  if (circuit.netByName.has(on)) return true;
  for (let name = on; name !== ""; name = name.slice(0, Math.max(0, name.lastIndexOf("."))))
    if (circuit.partByReference.has(name)) return true;
  return false;
}

function unused(circuit: Circuit, waiver: Waiver, known: ReadonlySet<string>): Finding {
  const on = waiver.on ? ` on ${waiver.on}` : "";
  if (!known.has(waiver.rule)) {
    const near = closest(waiver.rule, [...known]);
    const offer =
      distance(near, waiver.rule) <= Math.max(2, waiver.rule.length / 3) ? ` Meant: ${near}?` : "";
    return about(
      "circuit/waive-unused",
      "warning",
      waiver,
      `No rule is called ${waiver.rule}, so this waiver holds nothing.${offer}`,
    );
  }
  const stray = waiver.on !== undefined && !isThere(circuit, waiver.on);
  if (stray) {
    return about(
      "circuit/waive-unused",
      "warning",
      waiver,
      `The waiver of ${waiver.rule} is on ${waiver.on}, and no part or net is called that.${didYouMean(
        waiver.on ?? "",
        [...circuit.partByReference.keys(), ...circuit.netByName.keys()],
      )}`,
    );
  }
  return about(
    "circuit/waive-unused",
    "warning",
    waiver,
    `The waiver of ${waiver.rule}${on} has nothing left to hold: the finding is gone, so take the waiver out.`,
  );
}

function unreasoned(waiver: Waiver): Finding {
  return about(
    "circuit/waive-unused",
    "warning",
    waiver,
    `The waiver of ${waiver.rule} does not hold: a mains or earth error is waived only with a reason (because "…").`,
  );
}

function about(rule: string, severity: "warning", waiver: Waiver, message: string): Finding {
  return { rule, severity, message, on: [waiver.on ?? waiver.rule], place: waiver.place, related: [] };
}
