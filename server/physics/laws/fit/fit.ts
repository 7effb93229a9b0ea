/**
 * Fit a section's law to its sheet by Levenberg-Marquardt least squares on the logarithms of its parameters.
 * Deterministic: the same points give the same parameters bit for bit.
 */
import { levenbergMarquardt } from "ml-levenberg-marquardt";
import type { ValveFile } from "../../../facts/valves/file.ts";
import type {
  GridParameters,
  LawParameters,
  PentodeParameters,
  TriodeParameters,
} from "../../../facts/valves/fit-file.ts";
import { gridPractice } from "../../../facts/valves/practice.ts";
import { pentodeLaw } from "../pentode.ts";
import { triodeLaw } from "../triode.ts";
import { beamPriors, type Prior, pentodePriors, triodePriors } from "./priors.ts";
import { type Figure, figuresOf, misfit, type Residual, residualOf } from "./residuals.ts";

export interface SectionFit {
  readonly parameters: LawParameters;
  /** Figures that the fit was held to. */
  readonly fitted: readonly Residual[];
  /** Figures kept out of it. */
  readonly heldOut: readonly Residual[];
}

const withScreen = (file: ValveFile, section: number) => "screen" in file.sections[section - 1].pins;

/** Parameters are kept to six figures: beyond that is not in the sheet. */
const rounded = (value: number) => Number(value.toPrecision(6));

/** @param section 1 or 2 */
export function fitSection(file: ValveFile, section: number): SectionFit | undefined {
  const figures = figuresOf(file.points ?? [], section);
  const inFit = figures.filter((figure) => !figure.row.held_out);
  // Three figures at least: a current, and two of its slopes or other currents.
  if (inFit.length < 3) return undefined;
  const pentode = withScreen(file, section);
  const priors = (pentode ? (file.kind === "beam-tetrode" ? beamPriors : pentodePriors) : triodePriors).map(
    (prior) => startingFrom(prior, inFit),
  );
  const build = (logs: readonly number[]): LawParameters => {
    const value = Object.fromEntries(priors.map((prior, i) => [prior.name, rounded(Math.exp(logs[i]))]));
    return {
      law: pentode ? "pentode" : "triode",
      ...value,
      grid: gridOf(value.kg, pentode),
    } as unknown as LawParameters;
  };
  const exact = (logs: readonly number[]): LawParameters => {
    const value = Object.fromEntries(priors.map((prior, i) => [prior.name, Math.exp(logs[i])]));
    return {
      law: pentode ? "pentode" : "triode",
      ...value,
      grid: gridOf(value.kg, pentode),
    } as unknown as LawParameters;
  };
  const count = inFit.length + priors.length;
  const model = (logs: number[]) => {
    const law = lawFor(exact(logs));
    return (k: number) =>
      k < inFit.length
        ? misfit(inFit[k], law) / inFit[k].closeness
        : (logs[k - inFit.length] - Math.log(priors[k - inFit.length].start)) /
          priors[k - inFit.length].width;
  };
  const data = { x: Array.from({ length: count }, (_, i) => i), y: new Array<number>(count).fill(0) };
  const descend = (start: number[], damping: number): { logs: number[]; error: number } => {
    let logs = start;
    let error = Infinity;
    // Begin again from the answer with the damping reset until it no longer gets better.
    for (let round = 0; round < 20; round++) {
      const answer = levenbergMarquardt(data, model, {
        initialValues: logs,
        minValues: priors.map((prior) => Math.log(prior.least)),
        maxValues: priors.map((prior) => Math.log(prior.most)),
        gradientDifference: 1e-3,
        maxIterations: 10,
        damping,
        errorTolerance: 1e-10,
      });
      if (!Number.isFinite(answer.parameterError)) break;
      logs = answer.parameterValues;
      const better = error - answer.parameterError;
      error = answer.parameterError;
      if (better < 1e-4 * error) break;
    }
    return { logs, error };
  };
  // From three widths of the foot, each with the current's scale set by the first printed current: the best is kept.
  const names = priors.map((prior) => prior.name);
  let best: { logs: number[]; error: number } | undefined;
  const fromStart = (from: Readonly<Record<string, number>>, damping: number, wanted: number) => {
    const start = priors.map((prior) => Math.log(prior.start * (from[prior.name] ?? 1)));
    const first = inFit.find(
      (figure) => figure.quantity.endsWith("plate current") && figure.row.mode !== "cutoff",
    );
    if (first) {
      for (let i = 0; i < 3; i++) start[names.indexOf("kg")] += bounded(misfit(first, lawFor(exact(start))));
    }
    const found = descend(start, damping);
    if (!best || found.error < best.error * wanted) best = found;
  };
  for (const kp of [1, 0.4, 2.5]) fromStart({ kp }, 1, 0.999);
  // Where little is printed those may be led astray: again with a shorter step, from elsewhere; kept where much better.
  const astray = pentode ? astrayPentodes : astrayTriodes;
  if (currentRows(inFit) <= FEW_ROWS) for (const from of astray) fromStart(from, 100, 0.8);
  const logs = best!.logs;
  const parameters = build(logs);
  const law = lawFor(parameters);
  return {
    parameters,
    fitted: inFit.map((figure) => residualOf(figure, law)),
    heldOut: figures.filter((figure) => figure.row.held_out).map((figure) => residualOf(figure, law)),
  };
}

export function lawFor(parameters: LawParameters) {
  return parameters.law === "triode"
    ? triodeLaw(parameters as TriodeParameters)
    : pentodeLaw(parameters as PentodeParameters);
}

/** All figures of a section, fitted or not, against given parameters. */
export function residualsFor(file: ValveFile, section: number, parameters: LawParameters): Residual[] {
  const law = lawFor(parameters);
  return figuresOf(file.points ?? [], section).map((figure) => residualOf(figure, law));
}

/**
 * The sections of a type that need a fit of their own: one `""` where all are alike.
 * @param find the file of another type, for a section that is said to be like it
 */
export function fitType(
  file: ValveFile,
  find: (type: string) => ValveFile | undefined,
): Record<string, SectionFit> | undefined {
  if (file.kind === "rectifier" || file.kind === "diode") return undefined;
  const differ =
    file.kind === "triode-pentode" ||
    (file.points ?? []).some((point) => point.section !== undefined) ||
    file.sections.some((section) => section.like);
  const fits: Record<string, SectionFit> = {};
  file.sections.forEach((section, i) => {
    if ((!differ && i > 0) || section.law) return;
    const model = section.like === undefined ? undefined : find(section.like);
    const same = model
      ? Math.max(
          0,
          model.sections.findIndex(({ name }) => name === section.name),
        )
      : i;
    const fit = fitSection(model ?? file, 1 + same);
    if (!fit) return;
    // Its own sheet's points are then a check.
    fits[differ ? section.name : ""] = model
      ? { parameters: fit.parameters, fitted: [], heldOut: residualsFor(file, i + 1, fit.parameters) }
      : fit;
  });
  return Object.keys(fits).length > 0 ? fits : undefined;
}

function gridOf(kg: number, pentode: boolean): GridParameters {
  const share = pentode ? gridPractice.pentodeShare : gridPractice.triodeShare;
  return {
    perveance: rounded((share * 2) / kg),
    contactVolts: gridPractice.contactVolts,
    widthVolts: gridPractice.widthVolts,
  };
}

/** Starts for sections of which no amplification is printed, and for those whose low plate volts bend the law. */
const astrayPentodes: readonly Readonly<Record<string, number>>[] = [{ mu: 1 }, { mu: 2 }, { mu: 4 }];
const astrayTriodes: typeof astrayPentodes = [{ kvb: 40 }, { kvb: 40, kp: 1.7, x: 0.9 }];

const FEW_ROWS = 3;

/** How many operating points are printed. */
const currentRows = (figures: readonly Figure[]): number =>
  new Set(figures.map(({ row }) => row).filter((row) => row.plate_mA !== undefined && row.mode !== "cutoff"))
    .size;

const bounded = (value: number) => Math.min(Math.max(value, -3), 3);

/** The printed slopes are a better start for mu, mup and kg than any prior. */
function startingFrom(prior: Prior, figures: readonly Figure[]): Prior {
  const rows = figures.map((figure) => figure.row);
  if (prior.name === "mu") {
    const triode = rows.find((row) => row.connection === undefined && row.mu !== undefined)?.mu;
    const screen = rows.find((row) => row.mu_g2g1 !== undefined)?.mu_g2g1;
    const strapped = rows.find((row) => row.connection === "triode-strapped" && row.mu !== undefined)?.mu;
    const start = triode ?? screen ?? (strapped === undefined ? undefined : strapped * 1.05);
    // One operating point says too little of it: the printed figure holds then.
    const width =
      triode === undefined && screen !== undefined && currentRows(figures) === 1 ? 0.1 : prior.width;
    return start === undefined ? prior : { ...prior, start, width };
  }
  if (prior.name === "mup") {
    const row = rows.find(
      (r) => r.gm_umho !== undefined && r.rp_ohm !== undefined && r.connection !== "triode-strapped",
    );
    return row ? { ...prior, start: (row.gm_umho as number) * 1e-6 * (row.rp_ohm as number) } : prior;
  }
  if (prior.name === "share") {
    const row = rows.find((r) => r.screen_mA !== undefined && r.plate_mA !== undefined);
    return row ? { ...prior, start: row.screen_mA! / (row.plate_mA! + row.screen_mA!) } : prior;
  }
  return prior;
}
