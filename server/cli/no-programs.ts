/**
 * Stands for `node:child_process` in the argument parser, which starts a process only for a command that is a program of its
 * own. None of ours is, and loading it would cost every start some milliseconds.
 */
export function spawn(): never {
  throw new Error("no command is a program of its own");
}
