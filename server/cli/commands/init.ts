/** `derate init [FOLDER]`: what a collection of netlists needs to be checked here and in a CI. */
import { existsSync } from "node:fs";
import { dirname, join, resolve } from "node:path";
import type { Host } from "../host.ts";
import { status } from "../status.ts";
import { makeFolder, writeWhole } from "../write.ts";

const configuration = `{
  // The mains of files whose mains line names no region: AU, NZ, UK, EU, CH, US, CA, JP.
  // "region": "AU",

  // The air around the parts, in degrees Celsius, for files without "assume ambient".
  "ambient": 45,

  // Severity by rule or family: error, warning, advice, unchecked, off. "derate rules" lists them.
  // Errors of mains and earth stay errors: waive one in its file, with a reason.
  "severity": {},

  // The share of a rating that practice allows, by family of parts.
  "margins": {}
}
`;

/** A class A stage on a bench supply: sound, and small enough to read at once. */
const amplifier = `# A first amplifier: one triode stage on a bench supply. Change it, and see what "derate check" says.
#
# A bench supply of 250 V kills as well as a chassis does. Unplug it, let it discharge, and measure before touching it.
amp "First stage"
assume ambient 25C

source B1 250V 1k { plus: HT, minus: gnd }
source B2 6.3V    { plus: h1, minus: gnd }      # dc heater supply, 0.3 A

jack J1 { tip: in, sleeve: gnd }
in -- resistor R1 1M 0.5W metal-film -- gnd
in -- resistor R2 68k 0.5W metal-film -- g1

valve V1.a ECC83 { plate: p1, grid: g1, cathode: k1 }
valve V1 ECC83 { heater: h1 gnd }
HT -- resistor R3 100k 1W metal-film -- p1
k1 -- resistor R4 1k5 0.5W metal-film -- gnd
k1 -- capacitor C1 25u 25V electrolytic -- gnd
p1 -- capacitor C2 22n 630V film -- out -- resistor R5 1M 0.5W metal-film -- gnd
`;

const github = `# Checks the amplifiers of this collection; findings stand beside the changed lines of a pull request.
name: derate
on: [push, pull_request]
permissions:
  contents: read
  security-events: write
jobs:
  check:
    runs-on: ubuntu-latest
    steps:
      - uses: actions/checkout@v4
      - uses: actions/setup-node@v4
        with:
          node-version: 20
      - run: npx --yes derate check . --format github --output derate.sarif
      - if: always()
        uses: github/codeql-action/upload-sarif@v3
        with:
          sarif_file: derate.sarif
`;

const gitlab = `# Checks the amplifiers of this collection; findings stand in the merge request.
derate:
  image: node:20
  script:
    - npx --yes derate check . --output gitlab:derate-quality.json --output junit:derate-tests.xml
  artifacts:
    when: always
    reports:
      codequality: derate-quality.json
      junit: derate-tests.xml
`;

const hook = `# With https://pre-commit.com: checks the netlists of each commit.
repos:
  - repo: local
    hooks:
      - id: derate
        name: derate
        entry: npx --yes derate check
        language: system
        files: \\.ampnet$
`;

export const written: Readonly<Record<string, string>> = {
  "derate.config.json": configuration,
  "first.ampnet": amplifier,
  ".github/workflows/derate.yml": github,
  ".gitlab-ci.yml": gitlab,
  ".pre-commit-config.yaml": hook,
};

export async function init(folder: string, _options: object, host: Host): Promise<number> {
  const lines: string[] = [];
  for (const [name, text] of Object.entries(written)) {
    const path = join(folder, name);
    const absolute = resolve(host.cwd, path);
    if (existsSync(absolute)) {
      lines.push(`${path}: there already, left as it is`);
      continue;
    }
    makeFolder(dirname(path), dirname(absolute));
    writeWhole(path, absolute, text);
    lines.push(`${path}: written`);
  }
  host.out(
    `${lines.join("\n")}\n\nNext: derate check ${folder === "." ? "first.ampnet" : join(folder, "first.ampnet")}\n`,
  );
  return status.clean;
}
