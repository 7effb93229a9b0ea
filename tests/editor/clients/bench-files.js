/* A folder that no disk holds, as a web extension: FILES, name to text, stands before this text when it is served. */
/* global FILES */
const vscode = require("vscode");

const texts = new Map(
  Object.entries(FILES).map(([name, text]) => [`/bench/${name}`, new TextEncoder().encode(text)]),
);
const changed = new vscode.EventEmitter();
const began = Date.now();

const fileSystem = {
  onDidChangeFile: changed.event,
  watch: () => new vscode.Disposable(() => undefined),
  stat({ path }) {
    const bytes = texts.get(path);
    if (bytes) return { type: vscode.FileType.File, ctime: began, mtime: began, size: bytes.length };
    if (path === "/" || path === "/bench")
      return { type: vscode.FileType.Directory, ctime: began, mtime: began, size: 0 };
    throw vscode.FileSystemError.FileNotFound(path);
  },
  readDirectory({ path }) {
    if (path !== "/bench") return [];
    return [...texts.keys()].map((name) => [name.slice("/bench/".length), vscode.FileType.File]);
  },
  readFile({ path }) {
    const bytes = texts.get(path);
    if (!bytes) throw vscode.FileSystemError.FileNotFound(path);
    return bytes;
  },
  writeFile(uri, bytes) {
    texts.set(uri.path, bytes);
    changed.fire([{ type: vscode.FileChangeType.Changed, uri }]);
  },
  createDirectory() {},
  delete({ path }) {
    texts.delete(path);
  },
  rename(from, to) {
    texts.set(to.path, texts.get(from.path));
    texts.delete(from.path);
  },
};

exports.activate = (context) => {
  context.subscriptions.push(
    vscode.workspace.registerFileSystemProvider("bench", fileSystem, { isCaseSensitive: true }),
  );
};
