/** Names of included files, by their text alone: nothing here looks at a disk. */

export type IncludePath = { readonly file: string } | { readonly wrong: "absolute" | "outside" | "empty" };

/** Splits a key into what never changes (`file://host`, `C:`), and its path. */
function split(key: string): { root: string; path: string; isUri: boolean } {
  const uri = /^([A-Za-z][A-Za-z0-9+.-]+:(?:\/\/[^/]*)?)(.*)$/s.exec(key);
  return uri ? { root: uri[1], path: uri[2], isUri: true } : { root: "", path: key, isUri: false };
}

/**
 * The key of an included file.
 * @param from key of the file that includes it: a path, relative or not, or a URI
 * @param main key of the main file: its folder is the tree that nothing may leave
 * @param written the name between the quotation marks, with `/` (or `\`) between folders
 */
export function includePath(main: string, from: string, written: string): IncludePath {
  const name = written.trim().replaceAll("\\", "/");
  if (name === "") return { wrong: "empty" };
  if (name.startsWith("/") || /^[A-Za-z][A-Za-z0-9+.-]*:/.test(name)) return { wrong: "absolute" };
  const { root, path, isUri } = split(from);
  const slash = Math.max(path.lastIndexOf("/"), isUri ? -1 : path.lastIndexOf("\\"));
  const folder = path.slice(0, slash + 1);
  const pieces = folder.split(isUri ? "/" : /[\\/]/);
  pieces.pop();
  const separator = !isUri && folder.includes("\\") && !folder.includes("/") ? "\\" : "/";
  const mainPath = split(main).path;
  const mainPieces = mainPath.split(isUri ? "/" : /[\\/]/);
  mainPieces.pop();
  for (const piece of name.split("/")) {
    if (piece === "" || piece === ".") continue;
    if (piece !== "..") pieces.push(isUri ? encodeURIComponent(piece) : piece);
    else if (pieces.length > mainPieces.length) pieces.pop();
    else return { wrong: "outside" };
  }
  const inside = mainPieces.every((piece, index) => pieces[index] === piece);
  if (!inside || pieces.length <= mainPieces.length) return { wrong: "outside" };
  return { file: root + pieces.join(separator) };
}
