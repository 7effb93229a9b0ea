/** One computed figure held against a published one. The tests run them; `npm run accuracy` tells them. */
export interface PublishedCheck {
  /** What is checked: type, row, quantity. */
  readonly name: string;
  /** Publication, as its cover says. */
  readonly source: string;
  /** `seen`, or `memory` with its confidence. */
  readonly evidence: string;
  readonly quantity: string;
  readonly unit: string;
  readonly expected: number;
  /** Relative. */
  readonly within: number;
  got(): number;
  /** Why a bound is wider than the program's table of accuracy, or what to know of the row. */
  readonly note?: string;
}
