// Builds the pages' scripts and style sheet into the package's static folder.
// Run by the packaging hook, or by hand: `npm ci --ignore-scripts && node build.mjs`.
import { createHash } from "node:crypto";
import { mkdir, readdir, readFile, rename, rm, writeFile } from "node:fs/promises";
import path from "node:path";
import { fileURLToPath } from "node:url";
import * as esbuild from "esbuild";

const here = path.dirname(fileURLToPath(import.meta.url));
const final = path.resolve(process.argv[2] ?? path.join(here, "../src/boughwright/web/static/dist"));
// Built beside and moved at the end: a build that fails leaves the old files as they were.
const target = `${final}.new`;

// Kept on a device from the first visit. The chart runtime is large and rarely wanted.
const KEPT = ["app.js", "app.css", "scene.js", "marker.js", "icon.svg", "icon-192.png", "icon-512.png", "manifest.webmanifest"];
// Sheets that others build on come first; paper rules come last and so win.
const FIRST = ["base.css"];
const LAST = ["print.css"];

const shared = {
  absWorkingDir: here,
  bundle: true,
  minify: true,
  legalComments: "none",
  target: ["es2022", "chrome109", "firefox115", "safari16"],
  logLevel: "silent",
};

/** The names of all style sheets, in the order in which they apply. */
async function sheets() {
  const found = (await readdir(path.join(here, "css"))).filter((name) => name.endsWith(".css"));
  const middle = found.filter((name) => !FIRST.includes(name) && !LAST.includes(name)).sort();
  return [...FIRST, ...middle, ...LAST].filter((name) => found.includes(name));
}

async function scripts() {
  await esbuild.build({
    ...shared,
    entryPoints: ["app", "scene", "marker", "closer", "pair"].map((name) => `src/${name}.ts`),
    outdir: target,
    format: "esm",
  });
}

async function styles() {
  const names = await sheets();
  await esbuild.build({
    ...shared,
    stdin: {
      contents: names.map((name) => `@import "./css/${name}";`).join("\n"),
      resolveDir: here,
      loader: "css",
    },
    outfile: path.join(target, "app.css"),
  });
}

/** One short hash over everything a device keeps: a new build replaces the old cache whole. */
async function edition() {
  const hash = createHash("sha256");
  for (const name of KEPT) hash.update(name).update(await readFile(path.join(target, name)));
  return hash.digest("hex").slice(0, 16);
}

async function worker() {
  await esbuild.build({
    ...shared,
    entryPoints: ["src/sw.ts"],
    outfile: path.join(target, "sw.js"),
    format: "iife",
    define: {
      KEPT_FILES: JSON.stringify(KEPT.map((name) => `/static/dist/${name}`)),
      EDITION: JSON.stringify(await edition()),
    },
  });
}

async function build() {
  await rm(target, { recursive: true, force: true });
  await mkdir(target, { recursive: true });
  await Promise.all([scripts(), styles()]);
  await writeIcons();
  await worker();
  await rm(final, { recursive: true, force: true });
  await rename(target, final);
}

async function writeIcons() {
  for (const name of await readdir(path.join(here, "icon"))) {
    await writeFile(path.join(target, name), await readFile(path.join(here, "icon", name)));
  }
}

try {
  await build();
} catch (fault) {
  await rm(target, { recursive: true, force: true });
  const first = fault.errors?.[0];
  const where = first?.location ? `${first.location.file}:${first.location.line}: ` : "";
  console.error(`${where}${first?.text ?? fault.message}`);
  process.exitCode = 1;
}
