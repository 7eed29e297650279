// Drives Debian's Chromium against the real binary on a demo lab of its own.
//
//   MATEWELL_BIN   the binary (default: matewell on the path)
//   MATEWELL_E2E_URL   a service that already runs, instead of starting one
//   CHROMIUM   the browser (default: /usr/bin/chromium)
import { mkdtempSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { defineConfig } from "@playwright/test";

// Workers read this file again: the folder must stay the same.
const home = (process.env.MATEWELL_E2E_HOME ??= mkdtempSync(join(tmpdir(), "matewell-e2e-")));
const port = process.env.MATEWELL_E2E_PORT ?? "7393";
const running = process.env.MATEWELL_E2E_URL;
const binary = process.env.MATEWELL_BIN ?? "matewell";

export default defineConfig({
  testDir: "e2e",
  testMatch: process.env.MATEWELL_SCREENSHOTS ? "screenshots.ts" : "*.spec.ts",
  outputDir: "test-results",
  workers: 1,
  timeout: 60_000,
  expect: { timeout: 15_000 },
  reporter: [["list"]],
  use: {
    baseURL: running ?? `http://127.0.0.1:${port}`,
    viewport: { width: 1280, height: 900 },
    trace: "retain-on-failure",
    launchOptions: {
      executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
      args: ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-component-update", "--no-first-run"],
    },
  },
  ...(running
    ? {}
    : {
        webServer: {
          command: `"${binary}" --data "${join(home, "lab.db")}" serve --demo --port ${port}`,
          url: `http://127.0.0.1:${port}/api/v1/due`,
          timeout: 120_000,
          reuseExistingServer: false,
        },
      }),
});
