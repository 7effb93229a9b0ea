/** The few things asked of URIs here: all file keys of the server's checks are URIs. */

/** The URI that an include names, seen from the file that includes it. */
export function resolveUri(from: string, written: string): string | undefined {
  try {
    return new URL(written.replaceAll("\\", "/").split("/").map(encodeURIComponent).join("/"), from).href;
  } catch {
    return undefined;
  }
}

export function baseName(uri: string): string {
  const path = uri.slice(uri.lastIndexOf("/") + 1);
  try {
    return decodeURIComponent(path);
  } catch {
    return path;
  }
}
