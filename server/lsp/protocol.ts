/** Messages of our own between client and server, besides the standard ones. Types only: the client shares them. */
export interface Condition {
  readonly state: "cold" | "standby" | "idle" | "drive" | "pulled";
  readonly mains: "low" | "nominal" | "high";
}

/** Server to client, after each check: for the status item. */
export const STATUS = "derate/status";
export interface StatusParams {
  readonly uri: string;
  readonly amplifier?: string;
  readonly states: readonly Condition["state"][];
  readonly errors: number;
  readonly warnings: number;
  readonly checked: number;
  readonly unchecked: number;
}

/** Client to server: show the volts of this state and mains level. */
export const SET_CONDITION = "derate/condition";

/** Client to server: a rule's page as Markdown, for those without a browser. */
export const EXPLAIN = "derate/explain";
export interface ExplainParams {
  readonly rule: string;
}

/** Client to server: the voltage chart of a file as HTML body. */
export const CHART = "derate/voltageChart";
/** Client to server: a picture of the supply chain as HTML body. */
export const SUPPLY = "derate/supplyPicture";
export interface DocumentParams {
  readonly uri: string;
}

/** Server to client, in the browser, where the server has no file system of its own. */
export const READ_TEXT = "derate/readText";
export const LIST_NETLISTS = "derate/listNetlists";
