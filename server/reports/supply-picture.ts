/**
 * The supply chain as a picture, from the rectifier down to the last dropper: each net with a reservoir on it, its volts, its
 * capacitors against their ratings, and what leads on to the next. SVG in an HTML body.
 */
import type { CheckResult } from "../check.ts";
import type { Circuit, MainsLevel, NetIndex, Part } from "../circuit/model.ts";
import type { StateName } from "../physics/results.ts";
import { metered, quantity } from "../rules/frame/quantity.ts";
import { STATE_NAMES } from "../rules/frame/state.ts";
import { html } from "./html.ts";
import { isMiddle, type SupplyStage, supplyStages } from "./supply-stages.ts";
import { CHART_CAUTION } from "./voltage-chart.ts";

const MARGIN = 4;
const INDENT = 26;
const SPINE = 14;
const BOX = { width: 200, line: 17, padding: 9 };
/** Between two boxes: room for the name of what joins them. */
const GAP = 40;
/** Some seven units to a letter of 13: for the picture's width. */
const LETTER = 7;

/** @returns undefined where there is no supply to draw */
export function supplyPictureHtml(result: CheckResult): string | undefined {
  const heads = supplyStages(result.circuit);
  if (heads.length === 0) return undefined;
  const shapes: string[] = [];
  let bottom = 0;
  let width = 2 * BOX.width;
  const write = (x: number, y: number, words: string, more = "") => {
    shapes.push(`<text x="${x}" y="${y}" font-size="13" fill="currentColor"${more}>${html(words)}</text>`);
    width = Math.max(width, x + words.length * LETTER + MARGIN);
  };

  /** @param spine where the line from the stage before comes down, and from where */
  const draw = (stage: SupplyStage, x: number, spine?: { readonly x: number; readonly y: number }): void => {
    const top = bottom + GAP;
    const entry = x + SPINE;
    const start = spine ?? { x: entry, y: top - GAP / 2 };
    const elbow = start.x === entry ? "" : ` V${top - GAP / 2} H${entry}`;
    shapes.push(`<path d="M${start.x} ${start.y}${elbow} V${top}" fill="none" stroke="currentColor"/>`);
    write(entry + 8, top - 9, stage.through.map((part) => leading(result, part)).join("  →  "));
    const volts = voltsLines(result, stage.net);
    const cans = capacitors(result, stage.net);
    const height = Math.max(1 + volts.length, cans.length) * BOX.line + BOX.padding;
    shapes.push(
      `<rect x="${x}" y="${top}" width="${BOX.width}" height="${height}" rx="4" fill="none" stroke="currentColor"/>`,
    );
    write(x + 9, top + 17, result.circuit.nets[stage.net].name, ' font-weight="bold"');
    volts.forEach((words, index) => {
      write(x + 9, top + 17 + (index + 1) * BOX.line, words);
    });
    cans.forEach(({ words, over }, index) => {
      write(
        x + BOX.width + 10,
        top + 17 + index * BOX.line,
        words,
        over ? ' class="over" font-weight="bold"' : "",
      );
    });
    bottom = top + height;
    const from = { x: entry, y: bottom };
    stage.next.forEach((next, index) => {
      // Branches stand aside of the line that goes on to the last.
      draw(next, x + (index < stage.next.length - 1 ? INDENT : 0), from);
    });
  };
  for (const head of heads) draw(head, MARGIN);

  const height = bottom + MARGIN;
  return [
    `<h1>${html(result.circuit.name ?? "Supply")}</h1>`,
    `<p><strong>${html(CHART_CAUTION)}</strong></p>`,
    `<svg viewBox="0 0 ${width} ${height}" width="${width}" height="${height}" role="img" aria-label="Supply chain">${shapes.join("")}</svg>`,
  ].join("\n");
}

/** "R21 270 Ω · 49.6 mA · 0.7 W"; a rectifier by its name and type. */
function leading(result: CheckResult, part: Part): string {
  if (part.kind === "valve") return `${part.reference} ${part.typeWritten}`;
  const words = [part.reference];
  if (part.kind === "resistor") words[0] += ` ${quantity(part.ohms.value, "Ω")}`;
  if (part.kind === "choke") words[0] += ` ${quantity(part.henries.value, "H")}`;
  const reading = result.analysis.solution("idle", "nominal")?.readings.get(part.reference);
  const amps = Math.abs(reading?.amps ?? 0);
  if (amps > 5e-8) words.push(metered(amps, "A"));
  if (part.kind === "resistor" && (reading?.watts ?? 0) > 5e-4)
    words.push(metered(reading?.watts ?? 0, "W", 2));
  return words.join(" · ");
}

/** Volts and ripple at idle; the highest volts of all states, and when. */
function voltsLines(result: CheckResult, net: NetIndex): string[] {
  const { analysis } = result;
  const idle = analysis.solution("idle", "nominal");
  const lines: string[] = [];
  const volts = idle?.volts[net];
  if (volts !== undefined && Number.isFinite(volts)) {
    const ripple = idle?.ripple[net] ?? 0;
    lines.push(`${metered(volts, "V")} idle${ripple > 1e-3 ? `, ripple ${metered(ripple, "V", 2)}` : ""}`);
  }
  let highest: { readonly volts: number; readonly state: StateName; readonly level: MainsLevel } | undefined;
  for (const state of analysis.states) {
    for (const level of ["nominal", "high"] as const) {
      const there = analysis.solution(state, level)?.volts[net];
      if (there === undefined || !Number.isFinite(there)) continue;
      if (highest === undefined || Math.abs(there) > Math.abs(highest.volts))
        highest = { volts: there, state, level };
    }
  }
  if (highest !== undefined) {
    lines.push(`${metered(highest.volts, "V")} at most, ${highest.level} mains,`, STATE_NAMES[highest.state]);
  }
  return lines;
}

/** Capacitors on a net, and those in series below them, down to circuit common. */
function stack(circuit: Circuit, net: NetIndex): (Part & { readonly kind: "capacitor" })[] {
  const found: (Part & { readonly kind: "capacitor" })[] = [];
  const below = [net];
  for (const from of below) {
    for (const part of circuit.parts) {
      if (part.kind !== "capacitor" || found.includes(part)) continue;
      const ends = [...part.terminals.values()];
      if (!ends.includes(from)) continue;
      const other = ends.find((end) => end !== from);
      // A coupling capacitor leads on to a signal, and is no part of the reservoir.
      if (!part.polarised && other !== circuit.ground) continue;
      found.push(part);
      if (other !== undefined && other !== circuit.ground && isMiddle(circuit, other)) below.push(other);
    }
  }
  return found;
}

function capacitors(
  result: CheckResult,
  net: NetIndex,
): { readonly words: string; readonly over: boolean }[] {
  return stack(result.circuit, net).flatMap((part) => {
    const worst = result.margins
      .filter(({ on, rule }) => on === part.reference && rule === "rating/capacitor-voltage")
      .sort((one, other) => other.value / other.limit - one.value / one.limit)[0];
    const words = [`${part.reference} ${quantity(part.farads.value, "F")}`];
    if (worst === undefined) words.push("volts not checked");
    else {
      const share = Math.round((worst.value / worst.limit) * 100);
      words.push(
        `${metered(worst.value, "V")} of ${quantity(worst.limit, "V")}, ${share} %${worst.value > worst.limit ? " OVER" : ""}`,
      );
    }
    return [{ words: words.join(": "), over: worst !== undefined && worst.value > worst.limit }];
  });
}
