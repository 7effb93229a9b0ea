/**
 * The syntax tree of one `.ampnet` text: what was written and where, nothing resolved.
 * Every node keeps its source range as offsets in UTF-16 code units, end exclusive. Nodes are immutable.
 */

export interface Range {
  readonly start: number;
  readonly end: number;
}

/** A name or other bare word as written. */
export interface Word {
  readonly text: string;
  readonly range: Range;
}

/** What a number measures. `none` is a number without a unit letter (`4k7`, `22n`): the fact's place decides. */
export type Unit =
  | "none"
  | "ohm"
  | "farad"
  | "henry"
  | "volt"
  | "ampere"
  | "watt"
  | "voltampere"
  | "hertz"
  | "percent"
  | "metre"
  | "square-metre"
  | "celsius"
  | "second";

/** One number in SI base units (`percent` stays in percent, `celsius` in degrees). */
export interface Quantity {
  readonly value: number;
  readonly unit: Unit;
  /** True for `275VAC`: the volts are rms alternating. */
  readonly alternating?: boolean;
}

/**
 * One fact as written. Facts are separated by blanks; what belongs together has been joined:
 *  - `word` alone: `electrolytic`, `EL84`, `anchored`, `dc`
 *  - quantity alone: `22n`, `0.5 W`, `1.0mm2`
 *  - `label` + quantity: `surge 550V`, `dcr 45R`, `ripple 300mA`, `at 40%`; also `mains 236V`
 *  - `series`: several quantities joined by `-` (`290-0-290V`, `4R-8R-16R`, `0-220-240V`); each has the unit of
 *    the last where its own is `none`
 *  - `fuse`: `T500mA` gives letter `T` and the amperes
 */
export interface Fact {
  readonly range: Range;
  /** The text exactly as written, label included. */
  readonly text: string;
  readonly label?: Word;
  readonly word?: Word;
  readonly quantity?: Quantity;
  readonly series?: readonly Quantity[];
  readonly fuse?: { readonly letter: string; readonly amps: number };
  /** `120mA dc` on a winding: the word right behind the quantity. */
  readonly direct?: boolean;
}

/** `terminal: net net` (heaters have two nets and may be followed by a word), or a bare list of nets in a winding row. */
export interface TerminalItem {
  readonly node: "terminal";
  readonly terminal: Word;
  readonly nets: readonly Word[];
  /** Facts behind the net: `inA 60mm brown`, `h1 h2 series`. */
  readonly facts: readonly Fact[];
  readonly range: Range;
}

/** A named row with a block of its own: a winding (`ht 290-0-290V { a gnd b }`), a valve section, a switch pole. */
export interface RowItem {
  readonly node: "row";
  readonly name: Word;
  readonly facts: readonly Fact[];
  /** Bare nets in order (windings). */
  readonly nets: readonly Word[];
  /** `terminal: net` items (sections, poles). */
  readonly terminals: readonly TerminalItem[];
  readonly range: Range;
}

export type BodyItem = TerminalItem | RowItem;

export interface AmpStatement {
  readonly node: "amp";
  readonly name: Word;
  readonly range: Range;
}
export interface MainsStatement {
  readonly node: "mains";
  readonly facts: readonly Fact[];
  readonly range: Range;
}
/**
 * `kind REF fact… { … }`. `reference.text` may be dotted (`V1.a`). A kind that does not exist stands here as written, and a
 * reference that had to be there may be missing: both have been told as problems.
 */
export interface PartStatement {
  readonly node: "part";
  readonly kind: Word;
  readonly reference?: Word;
  readonly facts: readonly Fact[];
  readonly body?: { readonly items: readonly BodyItem[]; readonly range: Range };
  readonly range: Range;
}
export interface PathPart {
  readonly kind: Word;
  readonly reference?: Word;
  readonly facts: readonly Fact[];
  readonly range: Range;
}
/** `net -- part -- net -- …`; `nets.length === parts.length + 1`. Two nets or two parts side by side are a problem. */
export interface PathStatement {
  readonly node: "path";
  readonly nets: readonly Word[];
  readonly parts: readonly PathPart[];
  readonly range: Range;
}
/** `metal panel` */
export interface MetalStatement {
  readonly node: "metal";
  readonly net: Word;
  readonly facts: readonly Fact[];
  readonly range: Range;
}
/** `assume ambient 50C`, `assume mains +10% -6%`, `assume derate resistor 50%`, `assume outlet unpolarised`. */
export interface AssumeStatement {
  readonly node: "assume";
  readonly subject: Word;
  /** Signs are kept in the quantities. */
  readonly facts: readonly Fact[];
  readonly range: Range;
}
/** `measured HT1 312V at mains 236V`, `measured across R14 11V`, `measured insulation 250M at 500V`. */
export interface MeasuredStatement {
  readonly node: "measured";
  readonly target: Word;
  readonly across: boolean;
  readonly value?: Fact;
  /** `at mains 236V` -> label mains; `at 500V` -> no label. */
  readonly at?: Fact;
  readonly range: Range;
}
export interface WaiveStatement {
  readonly node: "waive";
  readonly rule: Word;
  readonly on?: Word;
  /** Without its quotes; its range includes them. */
  readonly because?: Word;
  readonly until?: Word;
  readonly range: Range;
}
export interface IncludeStatement {
  readonly node: "include";
  readonly file: Word;
  readonly range: Range;
}
export interface BlockStatement {
  readonly node: "block";
  readonly name: Word;
  readonly parameters: readonly Word[];
  readonly statements: readonly Statement[];
  readonly range: Range;
}
export interface UseStatement {
  readonly node: "use";
  readonly name: Word;
  readonly arguments: readonly Word[];
  readonly prefix?: Word;
  readonly range: Range;
}

export type Statement =
  | AmpStatement
  | MainsStatement
  | PartStatement
  | PathStatement
  | MetalStatement
  | AssumeStatement
  | MeasuredStatement
  | WaiveStatement
  | IncludeStatement
  | BlockStatement
  | UseStatement;

/** What the parser found wrong, in the trade's words. `rule` is `circuit/syntax` or `circuit/unit`. */
export interface SyntaxProblem {
  readonly rule: "circuit/syntax" | "circuit/unit";
  readonly message: string;
  readonly range: Range;
}

export interface Tree {
  readonly statements: readonly Statement[];
  readonly problems: readonly SyntaxProblem[];
  /** Offsets of line starts, for positions; built once per text. */
  readonly lineStarts: readonly number[];
}
