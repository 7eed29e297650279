import { createHash } from "node:crypto";
import { readFileSync } from "node:fs";
import { svelte } from "@sveltejs/vite-plugin-svelte";
import { defineConfig, type Plugin } from "vite";

/** Writes `sw.js` beside the page: the files of this build and what to do with
 * them. By hand because it is forty lines; a tool for it would add hundreds of
 * packages to the lock file. */
function worker(): Plugin {
  return {
    name: "matewell-worker",
    apply: "build",
    generateBundle(_, bundle) {
      const source = readFileSync(new URL("src/offline/worker.js", import.meta.url), "utf8");
      const files = ["/", "/icon.svg", ...Object.keys(bundle).filter((name) => name.startsWith("assets/")).sort().map((name) => `/${name}`)];
      const shell = readFileSync(new URL("index.html", import.meta.url), "utf8");
      const version = createHash("sha256").update(JSON.stringify([files, source, shell])).digest("hex").slice(0, 16);
      this.emitFile({
        type: "asset",
        fileName: "sw.js",
        source: `const VERSION = ${JSON.stringify(version)};\nconst FILES = ${JSON.stringify(files)};\n${source}`,
      });
    },
  };
}

// The Content-Security-Policy of the server allows the page's own files only:
// nothing inline, so no data: assets and no preload polyfill.
export default defineConfig({
  plugins: [svelte(), worker()],
  // Rust builds this into a folder of its own; a person gets dist/.
  cacheDir: process.env.MATEWELL_WEB_CACHE ?? "node_modules/.vite",
  build: {
    outDir: process.env.MATEWELL_WEB_OUT ?? "dist",
    emptyOutDir: true,
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    target: "es2022",
  },
  server: { proxy: { "/api": "http://127.0.0.1:7373" } },
});
