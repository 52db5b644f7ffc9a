// Bundles the unit tests that stand in tests/frontend and runs them by node's own runner.
import { spawnSync } from "node:child_process";
import { mkdtemp, readdir, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import path from "node:path";
import { fileURLToPath } from "node:url";
import * as esbuild from "esbuild";

const here = path.dirname(fileURLToPath(import.meta.url));
const tests = path.resolve(here, "../tests/frontend");
const out = await mkdtemp(path.join(tmpdir(), "bench-"));
try {
  const names = (await readdir(tests)).filter((name) => name.endsWith(".test.mjs"));
  await esbuild.build({
    entryPoints: names.map((name) => path.join(tests, name)),
    outdir: out,
    outExtension: { ".js": ".mjs" },
    nodePaths: [path.join(here, "node_modules")],
    bundle: true,
    platform: "node",
    format: "esm",
    logLevel: "warning",
  });
  const files = names.map((name) => path.join(out, name));
  const done = spawnSync(process.execPath, ["--test", ...files], { stdio: "inherit" });
  process.exitCode = done.status ?? 1;
} finally {
  await rm(out, { recursive: true, force: true });
}
