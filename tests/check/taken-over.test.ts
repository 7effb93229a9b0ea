/** What has been solved serves again where only ratings, comments, readings or waivers differ, and nowhere else. */
import { readdirSync, readFileSync } from "node:fs";
import { describe, expect, test } from "vitest";
import { parse } from "../../grammar/parse.ts";
import { check } from "../../server/check.ts";
import { buildCircuit } from "../../server/circuit/build.ts";
import type { Circuit, Part } from "../../server/circuit/model.ts";
import { ratingFacts, solvedAs } from "../../server/physics/alike.ts";
import { analyse } from "../../server/physics/analyse.ts";
import type { ReadingName } from "../../server/physics/results.ts";
import { work } from "../../server/physics/supply/work.ts";

const folder = new URL("../../samples/", import.meta.url);
const samples = readdirSync(folder)
  .filter((file) => file.endsWith(".ampnet"))
  .map((file) => ({ file, text: readFileSync(new URL(file, folder), "utf8") }));

const levels = ["low", "nominal", "high"] as const;

/** Parts that tell which of the facts that count as ratings alone somebody reads. */
function watched(circuit: Circuit, read: Set<string>): Circuit {
  const parts = circuit.parts.map(
    (part): Part =>
      new Proxy(part, {
        get(target, field, receiver) {
          if (ratingFacts[part.kind]?.includes(String(field))) read.add(`${part.kind}.${String(field)}`);
          return Reflect.get(target, field, receiver);
        },
      }),
  );
  return { ...circuit, parts, partByReference: new Map(parts.map((part) => [part.reference, part])) };
}

const found = (result: ReturnType<typeof check>) => ({
  findings: result.findings.map(({ rule, severity, on, message, place, related, waived }) => ({
    rule,
    severity,
    on,
    message,
    place,
    related,
    waived,
  })),
  checked: result.checked,
  unchecked: result.unchecked,
});

describe("what counts as a rating alone", () => {
  test.each(samples)("is read by no solution of $file", ({ file, text }) => {
    const read = new Set<string>();
    const circuit = watched(buildCircuit(file, text, parse(text)).circuit, read);
    const analysis = analyse(circuit);
    let solved = 0;
    for (const state of analysis.states) {
      for (const level of levels) {
        const solution = analysis.solution(state, level)!;
        solved += solution.solved ? 1 : 0;
        expect(solution.ripple.length).toBe(circuit.nets.length);
        for (const [key, readings] of solution.readings) {
          for (const name of Object.keys(readings)) solution.band(key, name as ReadingName);
        }
        for (const net of circuit.nets) solution.netBand(net.index);
      }
    }
    for (const level of levels) {
      expect(analysis.discharge.get(level)!.warm.size).toBe(analysis.discharge.get(level)!.out.size);
      analysis.drive(level);
    }
    expect(analysis.hotSwitch.size).toBeGreaterThanOrEqual(0);
    expect(solved).toBeGreaterThan(0);
    expect([...read]).toEqual([]);
  });
});

describe("a text checked again", () => {
  /** Edits that leave the physics alone. */
  const harmless: Record<string, (text: string) => string> = {
    "a comment above": (text) => `# looked at again\n${text}`,
    "capacitors' volts": (text) => text.replace(/(capacitor C\d+ \S+) (\d+)V/g, "$1 63V"),
    "resistors' watts": (text) => text.replace(/(resistor R\d+ \S+) [\d.]+W/g, "$1 0.1W"),
    "a waiver": (text) => `${text}\nwaive rating/capacitor-voltage until 2099-01-01 "to be changed"\n`,
    "a bench reading": (text) => `${text}\nmeasured gnd 0V\n`,
  };
  const some = samples.filter(({ file }) => /^(brolga|currawong|fantail)/.test(file));
  for (const [what, edit] of Object.entries(harmless)) {
    test.each(some)(`${what} in $file: the same findings, nothing solved`, ({ file, text }) => {
      const before = check(file, text);
      const edited = edit(text);
      expect(edited).not.toBe(text);
      const fresh = check(file, edited);
      const cycles = work.cycles;
      const again = check(file, edited, { previous: before });
      // A band that is asked for only now may look at a cycle again; to solve one state takes more than all of them.
      expect(work.cycles - cycles).toBeLessThanOrEqual(6);
      expect(found(again)).toEqual(found(fresh));
      expect(again.analysis.circuit).toBe(again.circuit);
    });
  }

  const telling: Record<string, (text: string) => string> = {
    "an ohm more": (text) => text.replace(/resistor (R\d+) 100R/, "resistor $1 101R"),
    "a wider tolerance": (text) => text.replace(/(resistor R\d+ 1M)/, "$1 20%"),
    "another mains": (text) => text.replace(/^mains (\d+)/m, (_, volts) => `mains ${Number(volts) - 5}`),
  };
  for (const [what, edit] of Object.entries(telling)) {
    test(`${what}: solved anew, as if for the first time`, () => {
      let told = 0;
      for (const { file, text } of some) {
        const edited = edit(text);
        if (edited === text) continue;
        told++;
        const cycles = work.cycles;
        const again = check(file, edited, { previous: check(file, text) });
        expect(work.cycles).toBeGreaterThan(cycles);
        expect(found(again)).toEqual(found(check(file, edited)));
      }
      expect(told).toBeGreaterThan(0);
    });
  }

  test("many times over keeps the one analysis that was solved, not a chain of them", () => {
    const { file, text } = samples[0];
    let result = check(file, text);
    const first = result.analysis;
    for (let n = 0; n < 5; n++) {
      result = check(file, `# ${n}\n${text}`, { previous: result });
      expect(solvedAs(result.analysis)).toBe(first);
    }
  });
});
