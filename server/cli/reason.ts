/** The system's reason for not reading or writing a file, in words. */
export function reason(error: unknown): string {
  switch ((error as NodeJS.ErrnoException).code) {
    case "ENOENT":
      return "no such file or folder";
    case "EACCES":
    case "EPERM":
      return "permission denied";
    case "EISDIR":
      return "is a folder";
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
