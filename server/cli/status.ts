/** The exit statuses, and the errors that lead to them. They are a promise to scripts: never change a meaning. */
export const status = {
  /** Nothing at error level. */
  clean: 0,
  /** Findings at error level. */
  findings: 1,
  /** The command can't be done as given: a wrong option, a file that can't be read. The other files are checked and told all the same. */
  usage: 2,
  /** A fault of this program. */
  fault: 3,
} as const;

/** What the user can put right. Its message says what is wrong and what to do. Ends with status 2. */
export class UsageError extends Error {
  // Each bundle has a class of its own, so errors are told by their name and not by their class.
  override readonly name = "UsageError";
}

export function isUsageError(error: unknown): error is UsageError {
  return error instanceof Error && error.name === "UsageError";
}
