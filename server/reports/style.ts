/** Colours, or none. Reports are given a style; whether a terminal takes colours is the host's knowledge. */
import { createColors } from "picocolors";

export type Paint = (text: string) => string;

export interface Style {
  readonly error: Paint;
  readonly warning: Paint;
  readonly advice: Paint;
  readonly faint: Paint;
  readonly strong: Paint;
  readonly marker: Paint;
}

export function style(colours: boolean): Style {
  const c = createColors(colours);
  return {
    error: (text) => c.bold(c.red(text)),
    warning: (text) => c.bold(c.yellow(text)),
    advice: (text) => c.bold(c.cyan(text)),
    faint: c.dim,
    strong: c.bold,
    marker: c.red,
  };
}
