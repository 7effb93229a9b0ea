/** `derate completion SHELL`: made from the commands themselves, so that it can't fall behind them. */
import type { Command } from "commander";
import { rules } from "../../rules/index.ts";
import type { Host } from "../host.ts";
import { program } from "../program.ts";
import { status } from "../status.ts";

interface Completed {
  /** `check`, `baseline write`. */
  readonly name: string;
  readonly description: string;
  readonly options: readonly {
    readonly flag: string;
    readonly description: string;
    readonly choices: readonly string[];
  }[];
  /** What its arguments may be, where they are no files. */
  readonly words: readonly string[];
}

export async function completion(shell: "bash" | "zsh" | "fish", host: Host): Promise<number> {
  const root = program(host, { commands: unused, checking: unused }, () => {});
  const commands = root.commands.flatMap((command) => completed(command, ""));
  host.out({ bash, zsh, fish }[shell](commands));
  return status.clean;
}

const unused = () => Promise.reject(new Error("asked only for names"));

function completed(command: Command, before: string): Completed[] {
  const name = `${before}${command.name()}`;
  const own: Completed = {
    name,
    description: command.description(),
    options: command.options.flatMap((option) =>
      option.long
        ? [{ flag: option.long, description: option.description, choices: option.argChoices ?? [] }]
        : [],
    ),
    words:
      name === "explain"
        ? rules.map(({ id }) => id)
        : command.commands.length > 0
          ? command.commands.map((inner) => inner.name())
          : command.registeredArguments.flatMap((argument) => argument.argChoices ?? []),
  };
  return [own, ...command.commands.flatMap((inner) => completed(inner, `${name} `))];
}

const topLevel = (commands: readonly Completed[]) => commands.filter(({ name }) => !name.includes(" "));

function bash(commands: readonly Completed[]): string {
  const cases = commands.map(({ name, options, words }) => {
    const choices = options
      .filter((option) => option.choices.length > 0)
      .map(
        ({ flag, choices: of }) =>
          `        ${flag}) COMPREPLY=($(compgen -W "${of.join(" ")}" -- "$word")); return ;;\n`,
      )
      .join("");
    const flags = options.map(({ flag }) => flag).join(" ");
    return (
      `    "${name}")\n      case "$before" in\n${choices}        *) ;;\n      esac\n` +
      `      if [[ $word == -* ]]; then COMPREPLY=($(compgen -W "${flags}" -- "$word")); return; fi\n` +
      (words.length > 0
        ? `      COMPREPLY=($(compgen -W "${words.join(" ")}" -- "$word")); return ;;\n`
        : `      local IFS=$'\\n'; COMPREPLY=($(compgen -f -- "$word")); return ;;\n`)
    );
  });
  const nested = commands.filter(({ name }) => name.includes(" ")).map(({ name }) => `"${name}"`);
  return `# bash completion of derate; put it in your profile: eval "$(derate completion bash)"
_derate() {
  local word=\${COMP_WORDS[COMP_CWORD]} before=\${COMP_WORDS[COMP_CWORD-1]}
  local command=\${COMP_WORDS[1]}
  if [[ $COMP_CWORD -eq 1 ]]; then
    COMPREPLY=($(compgen -W "${topLevel(commands)
      .map(({ name }) => name)
      .join(" ")} --help --version" -- "$word"))
    return
  fi
  if [[ $COMP_CWORD -gt 2 ]]; then
    case "$command \${COMP_WORDS[2]}" in
      ${nested.join("|") || '""'}) command="$command \${COMP_WORDS[2]}" ;;
    esac
  fi
  case "$command" in
${cases.join("")}  esac
}
complete -o filenames -F _derate derate
`;
}

/** In single quotes, for zsh and fish. */
const quoted = (text: string) => `'${text.replaceAll("'", "'\\''")}'`;

function zsh(commands: readonly Completed[]): string {
  const plain = (text: string) => text.replace(/[[\]:\\]/g, "\\$&");
  const cases = commands.map(({ name, options, words }) => {
    const specs = options.map(({ flag, description, choices }) =>
      quoted(`${flag}[${plain(description)}]${choices.length > 0 ? `:choice:(${choices.join(" ")})` : ""}`),
    );
    const rest = words.length > 0 ? quoted(`*:word:(${words.join(" ")})`) : quoted("*:file:_files");
    return `    ${quoted(name)}) _arguments ${[...specs, rest].join(" ")} ;;\n`;
  });
  const nested = commands.filter(({ name }) => name.includes(" ")).map(({ name }) => quoted(name));
  return `#compdef derate
# zsh completion of derate: eval "$(derate completion zsh)", or this text as _derate in your fpath
_derate() {
  local -a commands
  commands=(${topLevel(commands)
    .map(({ name, description }) => quoted(`${name}:${plain(description)}`))
    .join(" ")})
  if (( CURRENT == 2 )); then
    _describe command commands
    return
  fi
  local command=$words[2]
  if (( CURRENT > 3 )); then
    case "$command $words[3]" in
      (${nested.join("|") || "''"}) command="$command $words[3]"; words=("\${(@)words[2,-1]}"); (( CURRENT-- )) ;;
    esac
  fi
  words=("\${(@)words[2,-1]}"); (( CURRENT-- ))
  case "$command" in
${cases.join("")}  esac
}
if [ "$funcstack[1]" = "_derate" ]; then _derate "$@"; else compdef _derate derate; fi
`;
}

function fish(commands: readonly Completed[]): string {
  const lines = [
    "# fish completion of derate: derate completion fish > ~/.config/fish/completions/derate.fish",
    "complete -c derate -n __fish_use_subcommand -l help -d 'print help'",
    "complete -c derate -n __fish_use_subcommand -l version -d 'print the version'",
  ];
  for (const { name, description, options, words } of commands) {
    const [outer, inner] = name.split(" ");
    if (inner === undefined)
      lines.push(`complete -c derate -n __fish_use_subcommand -f -a ${outer} -d ${quoted(description)}`);
    const seen = inner
      ? `"__fish_seen_subcommand_from ${outer}; and __fish_seen_subcommand_from ${inner}"`
      : `"__fish_seen_subcommand_from ${outer}"`;
    for (const { flag, description: about, choices } of options) {
      const given = choices.length > 0 ? ` -x -a ${quoted(choices.join(" "))}` : "";
      lines.push(`complete -c derate -n ${seen} -l ${flag.slice(2)} -d ${quoted(about)}${given}`);
    }
    if (words.length > 0) lines.push(`complete -c derate -n ${seen} -f -a ${quoted(words.join(" "))}`);
  }
  return `${lines.join("\n")}\n`;
}
