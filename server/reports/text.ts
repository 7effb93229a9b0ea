/** Findings for a person at a terminal: the sentence first, then the source line with a marker under the place. */
import { notSaid } from "../rules/frame/tally.ts";
import type { FileReport, LineRange, ReportFinding } from "./report.ts";
import type { Style } from "./style.ts";
import { addTallies, caution, noTally, type Summary, stands, summaryLines, tallyOf } from "./summary.ts";
import { wrap } from "./wrap.ts";
import { type ReportWriter, written } from "./writer.ts";

export interface TextOptions {
  readonly style: Style;
  /** Width of the page in characters. */
  readonly width: number;
  /** Errors and the summary alone. */
  readonly quiet?: boolean;
  /** The summary alone. */
  readonly summary?: boolean;
}

export function textWriter(options: TextOptions): ReportWriter {
  let tally = noTally;
  return {
    add(report) {
      tally = addTallies(tally, tallyOf(report));
      if (options.summary) return "";
      return fileLines(report, options)
        .map((line) => `${line}\n`)
        .join("");
    },
    end: () => [{ from: 0, to: tally.files }, summaryText(tally, options)],
  };
}

export function textReport(reports: readonly FileReport[], options: TextOptions): string {
  return written(textWriter(options), reports);
}

/** The end of every report: what it comes to, and the caution. */
export function summaryText(
  summary: Summary,
  { style, width }: Pick<TextOptions, "style" | "width">,
): string {
  const lines = [...summaryLines(summary).map(style.strong), "", ...wrap(caution, width).map(style.faint)];
  return `${lines.join("\n")}\n`;
}

function fileLines(report: FileReport, options: TextOptions): string[] {
  const standing = report.findings.filter(stands);
  const shown = standing.filter((finding) =>
    options.quiet ? finding.severity === "error" : finding.severity !== "unchecked",
  );
  const folded = followersOf(shown);
  const under = new Set([...folded.values()].flat());
  const lines = shown
    .filter((finding) => !under.has(finding))
    .flatMap((finding) => [...findingLines(finding, options, folded.get(finding)), ""]);
  if (options.quiet) return lines;
  const unchecked = standing.filter((finding) => finding.severity === "unchecked");
  if (unchecked.length > 0) {
    lines.push(options.style.faint(`Not checked in ${report.path}:`));
    // The heading says what each of these sentences begins with.
    for (const finding of unchecked)
      lines.push(
        ...briefLines(
          finding,
          finding.message.replace(`: not checked, because ${notSaid}:`, ":"),
          options,
          report.path,
        ),
      );
    lines.push("");
  }
  const waived = report.findings.filter((finding) => finding.waived);
  if (waived.length > 0) {
    lines.push(options.style.faint(`Waived in ${report.path}, and still so:`));
    for (const finding of waived) {
      const until = finding.waived?.until ? ` until ${finding.waived.until}` : "";
      const words = `${finding.severity} ${finding.rule}: ${finding.message} Waived${until}: ${finding.waived?.reason}`;
      lines.push(...briefLines(finding, words, options, report.path));
    }
    lines.push("");
  }
  return lines;
}

/** What follows from a finding, by its leader: told in short under it, since its cause is told there. */
function followersOf(shown: readonly ReportFinding[]): ReadonlyMap<ReportFinding, readonly ReportFinding[]> {
  // The first of each rule, and the first of each rule on each part: a file of thousands of findings is gone through once.
  const first = new Map<string, ReportFinding>();
  const put = (key: string, finding: ReportFinding) => {
    if (!first.has(key)) first.set(key, finding);
  };
  for (const finding of shown) {
    put(finding.rule, finding);
    for (const on of finding.on) put(`${finding.rule} ${on}`, finding);
  }
  const order = new Map(shown.map((finding, index) => [finding, index]));
  const leaderOf = (finding: ReportFinding): ReportFinding | undefined => {
    if (finding.follows === null) return undefined;
    const sharing = finding.on.flatMap((on) => first.get(`${finding.follows} ${on}`) ?? []);
    return sharing.sort((a, b) => (order.get(a) ?? 0) - (order.get(b) ?? 0))[0] ?? first.get(finding.follows);
  };
  const followers = new Map<ReportFinding, ReportFinding[]>();
  for (const finding of shown) {
    // A leader may follow another one itself: the first cause has them all.
    const passed = new Set([finding]);
    let leader = leaderOf(finding);
    for (let next = leader; next && !passed.has(next); next = leaderOf(next)) {
      passed.add(next);
      leader = next;
    }
    if (leader && leader !== finding && !leaderOf(leader)) grow(followers, leader, finding);
  }
  return followers;
}

function grow<K, V>(map: Map<K, V[]>, key: K, value: V): void {
  const list = map.get(key);
  if (list) list.push(value);
  else map.set(key, [value]);
}

function findingLines(
  finding: ReportFinding,
  options: TextOptions,
  followers: readonly ReportFinding[] = [],
): string[] {
  const { style, width } = options;
  const paint = finding.severity === "unchecked" ? style.faint : style[finding.severity];
  const [first, ...rest] = wrap(`${finding.severity}: ${finding.message}`, width);
  const lines = [
    paint(finding.severity) + (first as string).slice(finding.severity.length),
    ...rest.map((line) => `  ${line}`),
    style.faint(`  ${placeOf(finding)}  ${finding.rule}`),
  ];
  const gutter = Math.max(
    numberOf(finding).length,
    ...finding.related
      .filter((related) => related.file === finding.file)
      .map((related) => numberOf(related).length),
  );
  lines.push(...excerpt(finding, gutter, "^", options));
  const seen = new Set([`${finding.file}:${finding.range.start.line}`]);
  // What is told of in full below needs no place of its own.
  const told = new Set(followers.flatMap((follower) => follower.on.slice(0, 1)));
  for (const related of finding.related) {
    if (told.has(related.on)) continue;
    const key = `${related.file}:${related.range.start.line}`;
    // Without its line beneath, a label says where it belongs; the finding's own line stands right above.
    const where =
      related.file !== finding.file
        ? ` (${placeOf(related)})`
        : seen.has(key) && related.range.start.line !== finding.range.start.line
          ? ` (line ${related.range.start.line + 1})`
          : "";
    lines.push(style.faint(`  ${related.message}${where}`));
    // The line that is already on the page needs no second print.
    if (!seen.has(key)) lines.push(...excerpt(related, gutter, "-", options));
    seen.add(key);
  }
  if (followers.length > 0) lines.push(style.faint("  from this follows:"));
  for (const follower of followers) {
    const indent = "    ";
    const words = wrap(`${follower.severity}: ${follower.message}`, width - 2, `${indent}  `);
    const color = follower.severity === "unchecked" ? style.faint : style[follower.severity];
    lines.push(
      ...words.map((line, index) =>
        index === 0
          ? indent + color(follower.severity) + line.trimStart().slice(follower.severity.length)
          : line,
      ),
      style.faint(`${indent}  ${placeOf(follower)}  ${follower.rule}`),
    );
  }
  return lines;
}

/** The source line behind its number, and under it a marker as long as the place. */
function excerpt(
  place: { readonly range: LineRange; readonly text: string; readonly textFrom?: number },
  gutter: number,
  mark: string,
  { style, width }: TextOptions,
): string[] {
  if (place.text.trim() === "") return [];
  const { start, end } = place.range;
  const textFrom = place.textFrom ?? 0;
  const at = start.character - textFrom;
  const to = end.line === start.line ? end.character - textFrom : place.text.length;
  const room = Math.max(20, width - gutter - 6);
  const { text, from, length } = window(place.text, at, Math.max(1, to - at), room);
  // Tabs stay tabs in the space before the marker, so that both lines step alike.
  const lead = text.slice(0, from).replace(/[^\t]/g, " ");
  const number = numberOf(place).padStart(gutter);
  return [
    `  ${style.faint(`${number} │`)} ${text}`,
    `  ${style.faint(`${" ".repeat(gutter)} │`)} ${lead}${style.marker(mark.repeat(Math.max(1, length)))}`,
  ];
}

/** The part of a long line that has the place in it. */
function window(text: string, from: number, length: number, room: number) {
  const trimmed = text.trimEnd();
  if (trimmed.length <= room)
    return { text: trimmed, from, length: Math.min(length, Math.max(1, trimmed.length - from)) };
  const cut = Math.max(0, Math.min(from - 8, trimmed.length - room));
  const piece = trimmed.slice(cut, cut + room);
  return { text: piece, from: from - cut, length: Math.min(length, piece.length - (from - cut)) };
}

function briefLines(
  finding: ReportFinding,
  words: string,
  { style, width }: TextOptions,
  path: string,
): string[] {
  // A line of an included file is told with that file.
  const elsewhere = finding.file === path ? "" : `${finding.file}:`;
  const lead = `  ${`${elsewhere}${numberOf(finding)}`.padStart(4)}  `;
  return wrap(words, width, " ".repeat(lead.length)).map((line, index) =>
    style.faint(index === 0 ? lead + line.trimStart() : line),
  );
}

function numberOf(place: { readonly range: LineRange }): string {
  return String(place.range.start.line + 1);
}

function placeOf(place: { readonly file: string; readonly range: LineRange }): string {
  return `${place.file}:${place.range.start.line + 1}:${place.range.start.character + 1}`;
}
