/** The completions in the shells that they are for. A shell that isn't installed is skipped, and shown as skipped. */
import { spawnSync } from "node:child_process";
import { join } from "node:path";
import { describe, expect, it } from "vitest";
import { derate, folder } from "./host.ts";

const has = (shell: string) => spawnSync(shell, ["-c", "exit"]).error === undefined;

async function scriptOf(shell: string): Promise<{ cwd: string; script: string }> {
  const { code, out } = await derate("/", ["completion", shell]);
  expect(code).toBe(0);
  const cwd = folder({ [`completion.${shell}`]: out, "a file.ampnet": "" });
  return { cwd, script: join(cwd, `completion.${shell}`) };
}

describe.skipIf(!has("bash"))("bash", () => {
  it("completes commands, options, their choices, rules and files", async () => {
    const { cwd, script } = await scriptOf("bash");
    const ask = (...words: string[]) => {
      const typed = words.map((word) => `'${word}'`).join(" ");
      const ran = spawnSync(
        "bash",
        [
          "--norc",
          "-c",
          `source "$0"; COMP_WORDS=(derate ${typed}); COMP_CWORD=${words.length}; _derate; printf '%s\\n' "\${COMPREPLY[@]}"`,
          script,
        ],
        { cwd, encoding: "utf8" },
      );
      expect(ran.stderr).toBe("");
      return ran.stdout.trim().split("\n");
    };
    expect(ask("ch")).toEqual(["check"]);
    expect(ask("check", "--fail-on", "w")).toEqual(["warning"]);
    expect(ask("check", "--fix-d")).toEqual(["--fix-design", "--fix-dry-run"]);
    expect(ask("explain", "mains/fuse-f")).toEqual(["mains/fuse-first"]);
    expect(ask("baseline", "wr")).toEqual(["write"]);
    expect(ask("check", "a f")).toEqual(["a file.ampnet"]);
  });
});

describe.skipIf(!has("fish"))("fish", () => {
  it("completes commands, options, their choices and rules", async () => {
    const { cwd, script } = await scriptOf("fish");
    const ask = (line: string) => {
      const ran = spawnSync(
        "fish",
        ["--no-config", "-c", 'source $argv[1]; complete -C "$argv[2]"', script, line],
        {
          cwd,
          encoding: "utf8",
          env: { PATH: process.env.PATH, HOME: cwd, TERM: "dumb" },
        },
      );
      expect(ran.stderr).toBe("");
      return ran.stdout
        .trim()
        .split("\n")
        .map((candidate) => candidate.split("\t")[0]);
    };
    expect(ask("derate ch")).toEqual(["check"]);
    expect(ask("derate check --fail-on ").sort()).toEqual(["advice", "error", "unchecked", "warning"]);
    expect(ask("derate check --fix-d")).toEqual(["--fix-design", "--fix-dry-run"]);
    expect(ask("derate explain mains/fuse-f")).toEqual(["mains/fuse-first"]);
    expect(ask("derate baseline wr")).toEqual(["write"]);
  });
});

/** An interactive zsh on a terminal of its own: keys go in, and ^X prints the line as it then stands. */
const driver = `
zmodload zsh/zpty
zpty t zsh -f -i
zpty -w t "PS1=; unsetopt zle_bracketed_paste; autoload -Uz compinit; compinit -u -D; source $1; show() { print -r -- \\"<<\\$BUFFER>>\\"; BUFFER= }; zle -N show; bindkey '^X' show; print rea''dy"
zpty -r t line '*ready*'
for typed in "\${@:2}"; do
  zpty -w -n t "$typed"$'\\t\\x18'
  zpty -r t line '*<<*>>*'
  print -r -- "$line"
done
zpty -d t
`;

describe.skipIf(!has("zsh"))("zsh", () => {
  it("completes commands, options, their choices and rules", { timeout: 120_000 }, async () => {
    const { cwd, script } = await scriptOf("zsh");
    const typed = [
      "derate compar",
      "derate check --fail-on w",
      "derate check --fix-dr",
      "derate explain mains/fuse-fi",
      "derate baseline wr",
    ];
    const ran = spawnSync("zsh", ["-f", "-c", driver, "zsh", script, ...typed], {
      cwd,
      encoding: "utf8",
      timeout: 100_000,
      env: { PATH: process.env.PATH, HOME: cwd, TERM: "dumb" },
    });
    const lines = [...ran.stdout.matchAll(/<<(.*?)>>/g)].map(([, line]) => line.trimEnd());
    expect(lines, ran.stderr).toEqual([
      "derate compare",
      "derate check --fail-on warning",
      "derate check --fix-dry-run",
      "derate explain mains/fuse-first",
      "derate baseline write",
    ]);
  });
});
