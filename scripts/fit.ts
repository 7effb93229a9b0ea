/**
 * `npm run fit`: fits every type's law to its sheet and writes the parameters (`fits.json`, bundled) and the residuals
 * (`residuals.json`, for tests and reports) beside the data. The same data give the same files bit for bit.
 */
import { writeFileSync } from "node:fs";
import { valveFiles } from "../server/facts/valves/all.ts";
import { fitType } from "../server/physics/laws/fit/fit.ts";

const folder = new URL("../server/facts/valves/", import.meta.url);
const only = new Set(process.argv.slice(2));
const fits: string[] = [];
const residuals: string[] = [];
for (const file of valveFiles) {
  if (only.size > 0 && !only.has(file.type)) continue;
  const start = performance.now();
  const fitted = fitType(file, (type) => valveFiles.find((other) => other.type === type));
  if (!fitted) continue;
  const sections = Object.entries(fitted);
  fits.push(
    `  ${JSON.stringify(file.type)}: ${JSON.stringify(Object.fromEntries(sections.map(([name, fit]) => [name, fit.parameters])))}`,
  );
  const kept = (value: number) => Number(value.toPrecision(4));
  residuals.push(
    `  ${JSON.stringify(file.type)}: {\n${sections
      .map(([name, fit]) => {
        const row = (heldOut: boolean) => (r: (typeof fit.fitted)[number]) =>
          `      ${JSON.stringify({ point: r.index, quantity: r.quantity, published: r.published, computed: kept(r.computed), off: Number(r.off.toFixed(4)), ...(heldOut ? { held_out: true } : {}) })}`;
        return `    ${JSON.stringify(name)}: [\n${[...fit.fitted.map(row(false)), ...fit.heldOut.map(row(true))].join(",\n")}\n    ]`;
      })
      .join(",\n")}\n  }`,
  );
  const worst = sections
    .flatMap(([, fit]) => [...fit.fitted, ...fit.heldOut])
    .reduce((a, b) => (Math.abs(b.off) > Math.abs(a.off) ? b : a));
  console.log(
    `${file.type}: worst ${(worst.off * 100).toFixed(1)} % (${worst.quantity}, point ${worst.index}), ${Math.round(performance.now() - start)} ms`,
  );
  if (only.size > 0)
    for (const [name, fit] of sections) {
      console.log(name, JSON.stringify(fit.parameters));
      for (const [mark, list] of [
        ["", fit.fitted],
        ["held out ", fit.heldOut],
      ] as const)
        for (const r of list)
          console.log(
            `  ${mark}${r.index} ${r.quantity}: ${r.published} -> ${r.computed.toPrecision(4)} (${(r.off * 100).toFixed(1)} %)`,
          );
    }
}
if (only.size === 0) {
  writeFileSync(new URL("fits.json", folder), `{\n${fits.join(",\n")}\n}\n`);
  writeFileSync(new URL("residuals.json", folder), `{\n${residuals.join(",\n")}\n}\n`);
}
