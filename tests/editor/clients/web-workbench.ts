/** The workbench without a server: static files, an extension that is a file system, and the extension under test. */
import { readFileSync } from "node:fs";
import { readFile } from "node:fs/promises";
import { createServer } from "node:http";
import { extname, join, normalize } from "node:path";

export interface WebWorkbench {
  readonly url: string;
  stop(): Promise<void>;
}

const TYPES: Readonly<Record<string, string>> = {
  ".html": "text/html",
  ".js": "text/javascript",
  ".json": "application/json",
  ".css": "text/css",
  ".svg": "image/svg+xml",
  ".ttf": "font/ttf",
  ".wasm": "application/wasm",
};

/**
 * @param workbench folder of the workbench's files
 * @param extension folder of the unpacked extension
 * @param files what stands in the folder that is opened: name to text
 */
export async function startWebWorkbench(
  workbench: string,
  extension: string,
  files: Readonly<Record<string, string>>,
): Promise<WebWorkbench> {
  const fileSystem: Readonly<Record<string, string>> = {
    "package.json": JSON.stringify({
      name: "bench-files",
      publisher: "derate-tests",
      version: "0.0.1",
      engines: { vscode: "^1.91.0" },
      browser: "./extension.js",
      activationEvents: ["onFileSystem:bench"],
    }),
    "extension.js": `const FILES = ${JSON.stringify(files)};\n${readFileSync(join(import.meta.dirname, "bench-files.js"), "utf8")}`,
  };
  const server = createServer(async (request, response) => {
    const { pathname } = new URL(request.url ?? "/", "http://127.0.0.1");
    const [, first, ...rest] = pathname.split("/");
    const path = normalize(rest.join("/"));
    const text = (type: string, body: string) => response.writeHead(200, { "content-type": type }).end(body);
    if (pathname === "/") return text("text/html", page(request.headers.host ?? ""));
    if (first === "bench-files" && path in fileSystem)
      return text(TYPES[extname(path)] ?? "text/plain", fileSystem[path]);
    const folder = first === "static" ? workbench : first === "derate" ? extension : undefined;
    try {
      if (folder === undefined || path.startsWith("..")) throw new Error("not served");
      const bytes = await readFile(join(folder, path));
      response
        .writeHead(200, { "content-type": TYPES[extname(path)] ?? "application/octet-stream" })
        .end(bytes);
    } catch {
      response.writeHead(404).end();
    }
  });
  await new Promise<void>((resolve) => server.listen(0, "127.0.0.1", resolve));
  const address = server.address();
  if (typeof address !== "object" || address === null) throw new Error("the server has no port");
  return {
    url: `http://127.0.0.1:${address.port}/`,
    stop: () =>
      new Promise((resolve) => {
        server.close(() => resolve());
        server.closeAllConnections();
      }),
  };
}

function page(host: string): string {
  const at = (path: string) => ({ scheme: "http", authority: host, path });
  const product = {
    productConfiguration: { nameShort: "Code", nameLong: "Code", applicationName: "code", version: "1.91.1" },
    folderUri: { scheme: "bench", authority: "", path: "/bench" },
    additionalBuiltinExtensions: [at("/bench-files"), at("/derate")],
    configurationDefaults: {
      "workbench.startupEditor": "none",
      "workbench.tips.enabled": false,
      "telemetry.telemetryLevel": "off",
    },
  };
  return `<!DOCTYPE html>
<html>
<head>
<meta charset="utf-8">
<link data-name="vs/workbench/workbench.web.main" rel="stylesheet" href="/static/out/vs/workbench/workbench.web.main.css">
</head>
<body aria-label=""></body>
<script>var product = ${JSON.stringify(product)};</script>
<script src="/static/out/vs/loader.js"></script>
<script src="/static/out/vs/webPackagePaths.js"></script>
<script>
const base = location.origin + "/static";
for (const key of Object.keys(self.webPackagePaths))
  self.webPackagePaths[key] = base + "/node_modules/" + key + "/" + self.webPackagePaths[key];
require.config({ baseUrl: base + "/out", recordStats: true, paths: self.webPackagePaths });
</script>
<script src="/static/out/vs/workbench/workbench.web.main.nls.js"></script>
<script src="/static/out/vs/workbench/workbench.web.main.js"></script>
<script src="/static/out/vs/code/browser/workbench/workbench.js"></script>
</html>`;
}
