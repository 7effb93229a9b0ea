/** Names of the messages between client and server besides the standard ones; the server's side is `server/lsp/protocol.ts`. */
export type State = "cold" | "standby" | "idle" | "drive" | "pulled";
export type Mains = "low" | "nominal" | "high";

export interface Status {
  readonly uri: string;
  readonly amplifier?: string;
  readonly states: readonly State[];
  readonly errors: number;
  readonly warnings: number;
  readonly checked: number;
  readonly unchecked: number;
}

export const STATUS = "derate/status";
export const SET_CONDITION = "derate/condition";
export const EXPLAIN = "derate/explain";
export const CHART = "derate/voltageChart";
export const SUPPLY = "derate/supplyPicture";
export const READ_TEXT = "derate/readText";
export const LIST_NETLISTS = "derate/listNetlists";
