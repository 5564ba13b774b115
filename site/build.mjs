// Bundles the page into built/: one script, one style sheet, the fonts, the licences of what is inside.
// `node build.mjs DIR` builds into another folder, to compare.
import { build } from "esbuild";
import { cpSync, mkdirSync, readFileSync, rmSync, writeFileSync, existsSync, readdirSync } from "node:fs";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";

const here = dirname(fileURLToPath(import.meta.url));
const out = process.argv[2] ?? join(here, "built");
const fonts = ["latin-400-normal", "latin-700-normal", "latin-400-italic", "latin-ext-400-normal", "latin-ext-700-normal"];

rmSync(out, { recursive: true, force: true });
mkdirSync(join(out, "fonts"), { recursive: true });
const result = await build({
  absWorkingDir: here,
  entryPoints: { page: "src/main.tsx", style: "src/style.css" },
  outdir: out,
  bundle: true,
  minify: true,
  format: "esm",
  target: ["es2022", "chrome123", "firefox121", "safari17.5"],
  external: ["*.woff2"],
  legalComments: "none",
  metafile: true,
  jsx: "automatic",
  jsxImportSource: "preact",
});
cpSync(join(here, "src/page.html"), join(out, "page.html"));
cpSync(join(here, "src/icon.svg"), join(out, "icon.svg"));
for (const name of fonts)
  cpSync(join(here, `node_modules/@fontsource/andika/files/andika-${name}.woff2`), join(out, `fonts/andika-${name}.woff2`));

// The licence of every package that went into the bundle, and of the font.
const packages = new Set(["@fontsource/andika"]);
for (const input of Object.keys(result.metafile.inputs)) {
  const found = input.match(/node_modules\/((?:@[^/]+\/)?[^/]+)/);
  if (found) packages.add(found[1]);
}
const parts = ["Packages in this folder, each under its own licence.\n"];
for (const name of [...packages].sort()) {
  const folder = join(here, "node_modules", name);
  const about = JSON.parse(readFileSync(join(folder, "package.json"), "utf8"));
  const file = readdirSync(folder).find((f) => /^licen[cs]e/i.test(f));
  const text = file && existsSync(join(folder, file)) ? readFileSync(join(folder, file), "utf8").trim() : `Licence: ${about.license}`;
  parts.push(`${"=".repeat(70)}\n${name} ${about.version} (${about.license})\n${"=".repeat(70)}\n${text}\n`);
}
writeFileSync(join(out, "LICENSES.txt"), parts.join("\n"));
