/** The supply chain as a picture: each net that feeds on, and what joins it to the next, from rectifier to last dropper. SVG in an HTML body. */
import type { CheckResult } from "../check.ts";
import type { Circuit, NetIndex, Part } from "../circuit/model.ts";
import { quantity } from "../rules/frame/quantity.ts";
import { html } from "./html.ts";
import { CHART_CAUTION } from "./voltage-chart.ts";

interface Stage {
  readonly net: NetIndex;
  readonly from?: NetIndex;
  readonly through?: Part;
  readonly depth: number;
}

const COLUMN = 190;
const ROW = 90;
const BOX = { width: 120, height: 54 };

/** Nets where a rectifier's output stands: cathodes of diodes and rectifier valves, a bridge's plus. */
function heads(circuit: Circuit): NetIndex[] {
  const found = new Set<NetIndex>();
  for (const part of circuit.parts) {
    if (part.kind === "bridge") add(part.terminals.get("plus"));
    else if (part.kind === "diode") add(part.terminals.get("cathode"));
    else if (part.kind === "valve" && part.sections.some((section) => section.electrodes.has("plate1"))) {
      for (const section of part.sections) add(section.electrodes.get("cathode"));
    } else if (part.kind === "source") add(part.terminals.get("plus"));
  }
  return [...found];
  function add(net: NetIndex | undefined): void {
    if (net !== undefined && net !== circuit.ground) found.add(net);
  }
}

/** Droppers and chokes lead on to the next net that has a capacitor. */
function stagesOf(circuit: Circuit): Stage[] {
  const stages: Stage[] = heads(circuit).map((net) => ({ net, depth: 0 }));
  const seen = new Set(stages.map(({ net }) => net));
  for (let index = 0; index < stages.length; index++) {
    const { net, depth } = stages[index];
    for (const part of circuit.parts) {
      if (part.kind !== "resistor" && part.kind !== "choke") continue;
      const [one, other] = [...part.terminals.values()];
      const next = one === net ? other : other === net ? one : undefined;
      if (next === undefined || next === circuit.ground || seen.has(next) || !hasReservoir(circuit, next))
        continue;
      seen.add(next);
      stages.push({ net: next, from: net, through: part, depth: depth + 1 });
    }
  }
  return stages;
}

function hasReservoir(circuit: Circuit, net: NetIndex): boolean {
  return circuit.parts.some(
    (part) => part.kind === "capacitor" && part.polarised && [...part.terminals.values()].includes(net),
  );
}

/** @returns undefined where there is no supply to draw */
export function supplyPictureHtml(result: CheckResult): string | undefined {
  const { circuit, analysis } = result;
  const stages = stagesOf(circuit);
  if (stages.length === 0) return undefined;
  const idle = analysis.solution("idle", "nominal");
  const cold = analysis.solution("cold", "high");
  const place = new Map<NetIndex, { x: number; y: number }>();
  const rows: number[] = [];
  const shapes: string[] = [];
  for (const stage of stages) {
    const parent = stage.from === undefined ? undefined : place.get(stage.from);
    const row = Math.max(rows[stage.depth] ?? 0, parent ? Math.round((parent.y - 20) / ROW) : 0);
    rows[stage.depth] = row + 1;
    const at = { x: 20 + stage.depth * COLUMN, y: 20 + row * ROW };
    place.set(stage.net, at);
    if (parent && stage.through) {
      const from = { x: parent.x + BOX.width, y: parent.y + BOX.height / 2 };
      const to = { x: at.x, y: at.y + BOX.height / 2 };
      const middle = (from.x + to.x) / 2;
      shapes.push(
        `<path d="M${from.x} ${from.y} H${middle} V${to.y} H${to.x}" fill="none" stroke="currentColor"/>`,
        `<text x="${middle}" y="${Math.min(from.y, to.y) - 6}" text-anchor="middle" font-size="11" fill="currentColor">${html(stage.through.reference)}</text>`,
      );
    }
    const volts = idle?.volts[stage.net];
    const ripple = idle?.ripple[stage.net] ?? 0;
    const unloaded = cold?.volts[stage.net];
    const lines = [
      circuit.nets[stage.net].name,
      volts === undefined || Number.isNaN(volts)
        ? "–"
        : `${quantity(volts, "V")} idle${ripple > 1e-3 ? `, ${quantity(ripple, "V", 2)} ripple` : ""}`,
      unloaded === undefined || Number.isNaN(unloaded) ? "" : `${quantity(unloaded, "V")} cold, high`,
    ];
    shapes.push(
      `<rect x="${at.x}" y="${at.y}" width="${BOX.width}" height="${BOX.height}" rx="4" fill="none" stroke="currentColor"/>`,
      ...lines.map(
        (line, index) =>
          `<text x="${at.x + 8}" y="${at.y + 16 + index * 15}" font-size="11"${index === 0 ? ' font-weight="bold"' : ""} fill="currentColor">${html(line)}</text>`,
      ),
    );
  }
  const width = Math.max(...[...place.values()].map(({ x }) => x)) + BOX.width + 60;
  const height = Math.max(...[...place.values()].map(({ y }) => y)) + BOX.height + 20;
  return [
    `<h1>${html(circuit.name ?? "Supply")}</h1>`,
    `<p><strong>${html(CHART_CAUTION)}</strong></p>`,
    `<svg viewBox="0 0 ${width} ${height}" width="${width}" height="${height}" role="img" aria-label="Supply chain">${shapes.join("")}</svg>`,
  ].join("\n");
}
