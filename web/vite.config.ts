import { svelte } from "@sveltejs/vite-plugin-svelte";
import { defineConfig } from "vite";

// The Content-Security-Policy of the server allows the page's own files only:
// nothing inline, so no data: assets and no preload polyfill.
export default defineConfig({
  plugins: [svelte()],
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
