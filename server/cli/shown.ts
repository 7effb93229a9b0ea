import { relative, sep } from "node:path";

/** The way to a file from the folder that the command runs in; its absolute path where it lies outside. */
export function shownPath(absolute: string, cwd: string): string {
  const path = relative(cwd, absolute);
  return path === "" || path.startsWith("..") ? absolute : path.split(sep).join("/");
}
