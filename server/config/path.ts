/** Paths with `/` between folders, without a file system. */

/** A file that is there and can't be read: its settings are unknown, not left out. */
export interface Unreadable {
  readonly why: string;
}

/** The text of a file by its absolute path with `/`; undefined where there is none. */
export type ReadText = (path: string) => string | Unreadable | undefined;

/** `/a/b` -> `/a`; `/a` -> `/`; the root is its own. */
export function folderOf(path: string): string {
  const at = path.lastIndexOf("/");
  if (at < 0) return path;
  return at === 0 ? "/" : path.slice(0, at).replace(/^([A-Za-z]:)$/, "$1/");
}

/** Joins and takes `.` and `..` out. An absolute second path stands alone. */
export function join(folder: string, path: string): string {
  const whole = path.startsWith("/") || /^[A-Za-z]:\//.test(path) ? path : `${folder}/${path}`;
  const parts: string[] = [];
  for (const part of whole.split("/")) {
    if (part === "..") parts.pop();
    else if (part !== "" && part !== ".") parts.push(part);
  }
  return `${whole.startsWith("/") ? "/" : ""}${parts.join("/")}`;
}
