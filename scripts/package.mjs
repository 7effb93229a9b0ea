/**
 * Packs the editor extension as a `.vsix`, from the bundles in `dist/` (or the folder given).
 *
 *   node scripts/package.mjs [--dist FOLDER] [--out FILE] [--folder FOLDER]
 *
 * A `.vsix` is a zip with the extension below `extension/` and two descriptions beside it. The packed manifest has nothing
 * that is only npm's; above all no `type`: the bundles are CommonJS, and newer workbenches would load them by it.
 * With `--folder` the extension is also laid out there unpacked, as a workbench without a server is given it.
 */
import { existsSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from "node:fs";
import { dirname, join, relative, resolve } from "node:path";
import { fileURLToPath } from "node:url";
import { parseArgs } from "node:util";
import { zip } from "./zip.mjs";

const root = join(dirname(fileURLToPath(import.meta.url)), "..");
const { values } = parseArgs({
  options: { dist: { type: "string" }, out: { type: "string" }, folder: { type: "string" } },
});
const manifest = JSON.parse(readFileSync(join(root, "package.json"), "utf8"));
const dist = resolve(values.dist ?? join(root, "dist"));
const out = resolve(values.out ?? join(root, `${manifest.name}-${manifest.version}.vsix`));

const BUNDLES = ["client.js", "client.web.js", "lsp.js", "lsp.web.js", "server.js", "package.json"];
const FOLDERS = ["docs/rules", "schemas", "client/walkthrough"];
const FILES = ["README.md", "LICENSE"];

const content = new Map();
const take = (path, from = join(root, path)) => content.set(`extension/${path}`, readFileSync(from));
for (const name of BUNDLES) take(`dist/${name}`, join(dist, name));
for (const folder of FOLDERS) for (const path of filesBelow(join(root, folder))) take(relative(root, path));
for (const path of FILES) take(path);

const { type, bin, files, scripts, devDependencies, engines, private: _, ...kept } = manifest;
for (const path of named(kept.contributes)) take(path);
take(kept.icon);
content.set(
  "extension/package.json",
  Buffer.from(`${JSON.stringify({ ...kept, engines: { vscode: engines.vscode } }, null, 2)}\n`),
);
if (values.folder) {
  for (const [path, bytes] of content) {
    const place = join(resolve(values.folder), relative("extension", path));
    mkdirSync(dirname(place), { recursive: true });
    writeFileSync(place, bytes);
  }
}
content.set("[Content_Types].xml", Buffer.from(contentTypes([...content.keys()])));
content.set("extension.vsixmanifest", Buffer.from(vsixManifest(kept, engines.vscode)));

mkdirSync(dirname(out), { recursive: true });
writeFileSync(out, zip(content));
console.log(`${out}: ${content.size} files`);

function filesBelow(folder) {
  return readdirSync(folder, { withFileTypes: true }).flatMap((entry) =>
    entry.isDirectory() ? filesBelow(join(folder, entry.name)) : [join(folder, entry.name)],
  );
}

/** Every file that the contributions name: one that is missing ends the packing, rather than fail in an editor. */
function named(contributes) {
  const found = new Set();
  const visit = (value) => {
    if (typeof value === "string") {
      const path = value.replace(/^\.\//, "");
      if (/^[\w-][\w./-]*\.(json|md|svg|png)$/.test(path) && path.includes("/")) {
        if (!existsSync(join(root, path))) throw new Error(`package.json names ${path}, which is not there`);
        found.add(path);
      }
    } else if (value && typeof value === "object") Object.values(value).forEach(visit);
  };
  visit(contributes);
  return found;
}

function contentTypes(paths) {
  const types = {
    js: "application/javascript",
    json: "application/json",
    md: "text/markdown",
    png: "image/png",
    svg: "image/svg+xml",
    vsixmanifest: "text/xml",
  };
  const endings = new Set(
    [...paths, ".vsixmanifest"].map((path) => /\.(\w+)$/.exec(path)?.[1]).filter(Boolean),
  );
  const defaults = [...endings]
    .map((ending) => `<Default Extension=".${ending}" ContentType="${types[ending] ?? "text/plain"}"/>`)
    .join("");
  return `<?xml version="1.0" encoding="utf-8"?>
<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">${defaults}</Types>
`;
}

function vsixManifest(extension, engine) {
  const attribute = (text) =>
    String(text).replaceAll("&", "&amp;").replaceAll("<", "&lt;").replaceAll('"', "&quot;");
  const property = (id, value) => `      <Property Id="${id}" Value="${attribute(value)}"/>`;
  const asset = (kind, path) =>
    `    <Asset Type="${kind}" Path="extension/${attribute(path)}" Addressable="true"/>`;
  return `<?xml version="1.0" encoding="utf-8"?>
<PackageManifest Version="2.0.0" xmlns="http://schemas.microsoft.com/developer/vsx-schema/2011">
  <Metadata>
    <Identity Language="en-US" Id="${attribute(extension.name)}" Version="${attribute(extension.version)}" Publisher="${attribute(extension.publisher)}"/>
    <DisplayName>${attribute(extension.displayName)}</DisplayName>
    <Description xml:space="preserve">${attribute(extension.description)}</Description>
    <Tags>${attribute([...(extension.keywords ?? []), "__ext_ampnet"].join(","))}</Tags>
    <Categories>${attribute((extension.categories ?? []).join(","))}</Categories>
    <GalleryFlags>Public</GalleryFlags>
    <Properties>
${property("Microsoft.VisualStudio.Code.Engine", engine)}
${property("Microsoft.VisualStudio.Code.ExtensionDependencies", "")}
${property("Microsoft.VisualStudio.Code.ExtensionPack", "")}
${property("Microsoft.VisualStudio.Code.ExtensionKind", "workspace,web")}
    </Properties>
    <License>extension/LICENSE</License>
    <Icon>extension/${attribute(extension.icon)}</Icon>
  </Metadata>
  <Installation>
    <InstallationTarget Id="Microsoft.VisualStudio.Code"/>
  </Installation>
  <Dependencies/>
  <Assets>
${asset("Microsoft.VisualStudio.Code.Manifest", "package.json")}
${asset("Microsoft.VisualStudio.Services.Content.Details", "README.md")}
${asset("Microsoft.VisualStudio.Services.Content.License", "LICENSE")}
${asset("Microsoft.VisualStudio.Services.Icons.Default", extension.icon)}
  </Assets>
</PackageManifest>
`;
}
