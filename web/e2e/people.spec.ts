// A lab with people: its own server, because signing in changes everything.
import { type ChildProcess, spawn } from "node:child_process";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { audit, expect, fits, test } from "./lab";

const PASSWORD = "green cable, left drawer";
let server: ChildProcess;
let home: string;
let base: string;

test.beforeAll(async () => {
  home = mkdtempSync(join(tmpdir(), "matewell-people-"));
  server = spawn(process.env.MATEWELL_BIN ?? "matewell", ["--data", join(home, "lab.db"), "serve", "--demo", "--port", "0"], { stdio: ["ignore", "pipe", "ignore"] });
  base = await new Promise((done, fail) => {
    server.stdout?.on("data", (text: Buffer) => {
      const found = /http:\/\/\S+(?=\/)/.exec(String(text))?.[0];
      if (found) done(found);
    });
    server.on("exit", () => fail(new Error("the server ended")));
  });
});
test.afterAll(() => {
  server.removeAllListeners("exit");
  server.kill();
  rmSync(home, { recursive: true, force: true });
});

test("the first administrator is made, adds a technician, and each acts under their name", async ({ page }) => {
  await page.goto(`${base}/people`);
  await expect(page.getByText(/One person works alone on this machine/)).toBeVisible();
  await audit(page, "one person alone");
  await page.getByLabel("Name").fill("Mara Lind");
  const password = page.getByLabel("Password", { exact: true });
  await password.fill("short");
  await page.getByRole("button", { name: "Make the first administrator" }).press("Enter");
  await expect(page.getByRole("alert")).toContainText("expected 12 to 200 characters, found 5");
  await audit(page, "a password that is too short");
  await password.fill(PASSWORD);
  await page.getByRole("button", { name: "Make the first administrator" }).press("Enter");
  await expect(page.getByRole("link", { name: "Mara Lind" })).toBeVisible();
  await expect(page.getByText("administrator. May read, work, decide, administer.")).toBeVisible();

  await page.reload();
  const add = page.getByRole("form", { name: "Add a person or a rig" });
  await add.getByLabel("Name").fill("Pim Aster");
  await add.getByLabel("First password", { exact: true }).fill("blue cable, right drawer");
  await add.getByRole("button", { name: "Add", exact: true }).press("Enter");
  await expect(page.getByText("Added: Pim Aster.")).toBeVisible();
  await page.getByText("Change Pim Aster").press("Enter");
  const may = page.getByRole("form", { name: "An authorisation of Pim Aster" });
  await may.getByLabel("At the interface").fill("banana");
  await may.getByRole("button", { name: "Authorise" }).press("Enter");
  await expect(page.getByRole("alert").filter({ hasText: /found "banana"/ })).toBeVisible();
  await may.getByLabel("At the interface").fill("3.5mm");
  await may.getByRole("button", { name: "Authorise" }).press("Enter");
  await expect(page.getByText("Authorised to gauge at 3.5mm")).toBeVisible();
  const token = page.getByRole("form", { name: "A token for Pim Aster" });
  await token.getByLabel("What a token is for (needed)").fill("bench rig");
  await token.getByRole("button", { name: "Make a token" }).press("Enter");
  await expect(page.getByText(/^mw_[0-9a-f]{64}$/)).toBeVisible();
  await expect(page.getByRole("row", { name: /token made Pim Aster/ })).toBeVisible();
  await fits(page);
  await audit(page, "people");

  await page.getByRole("button", { name: "Make a calendar address of what is due" }).press("Enter");
  const address = await page.getByText(/\/api\/v1\/calendar\//).textContent();
  const feed = await page.request.get(address ?? "");
  expect(feed.headers()["content-type"]).toContain("text/calendar");
  expect(await feed.text()).toContain("BEGIN:VEVENT");

  await page.getByRole("button", { name: "Sign out" }).press("Enter");
  await expect(page.getByRole("heading", { level: 1, name: "Sign in" })).toBeFocused();
  await audit(page, "signing in");
  expect((await page.request.get(`${base}/api/v1/due`)).status()).toBe(401);
  await page.getByLabel("Name").fill("Pim Aster");
  await page.getByLabel("Password", { exact: true }).fill("not this one");
  await page.getByRole("button", { name: "Sign in" }).press("Enter");
  await expect(page.getByRole("alert")).toContainText("found no such pair");
  await page.getByLabel("Password", { exact: true }).fill("blue cable, right drawer");
  await page.getByLabel("Password", { exact: true }).press("Enter");
  await expect(page.getByRole("link", { name: "Pim Aster" })).toBeVisible();
  await expect(page.getByText("May read, work.")).toBeVisible();
  await expect(page.getByRole("form", { name: "Add a person or a rig" })).toHaveCount(0);
  expect((await page.request.get(`${base}/api/v1/people`)).status()).toBe(403);

  await page.goto(`${base}/people`);
  await page.getByText("Change your password").press("Enter");
  await page.getByLabel("Password until now", { exact: true }).fill("blue cable, right drawer");
  await page.getByLabel("New password", { exact: true }).fill("red cable, right drawer");
  await page.getByRole("button", { name: "Change it" }).press("Enter");
  await expect(page.getByText(/signed out everywhere else/)).toBeVisible();
  await audit(page, "one's own password");

  // Nobody types a name any more: it is the one who is signed in.
  await page.goto(`${base}/register/new`);
  await expect(page.getByLabel("Who (needed)")).toHaveValue("Pim Aster");
});
