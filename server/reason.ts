/** The system's reason for not reading or writing a file, in words, and what to do where the words do not say it. */
export function reason(error: unknown, doing?: "reading" | "writing"): string {
  const then = (read: string, write: string) =>
    doing === undefined ? "" : `; ${doing === "reading" ? read : write}`;
  switch ((error as NodeJS.ErrnoException).code) {
    case "ENOENT":
      return `no such file or folder${then("mind its spelling, and the folder that derate runs in", "make its folder first")}`;
    case "EACCES":
    case "EPERM":
      return `permission denied${then("it has to be readable for whoever runs derate", "name a place where you may write")}`;
    case "EISDIR":
      return `is a folder${then("name a file in it", "name a file in it")}`;
    case "ENOTDIR":
      return "a part of the path is a file, not a folder";
    case "ELOOP":
      return "links that lead round in a circle";
    case "ENAMETOOLONG":
      return "a name that is too long";
    case "ENOSPC":
      return "the disk is full; make room, or name a place on another one";
    case "EROFS":
      return "the disk is read-only; name a place on another one";
    case "EMFILE":
    case "ENFILE":
      return "too many files open; raise the limit (ulimit -n) or check fewer at a time";
    default:
      return error instanceof Error ? error.message : String(error);
  }
}
