// Large text, still pictures, keyboard only: on every main screen.
import type { Page } from "@playwright/test";
import { audit, expect, fits, LIKE, pair, ready, test } from "./lab";

const MAIN = ["/", "/due", "/cases", "/register", "/tools", "/trace?ends=CB-009A", "/end/CB-014A", "/gauge/CB-014A", "/look/CB-014A", "/clean/CB-014A", "/dossier/end/CB-014A", "/item/CB-014", "/tool/GA-002", "/register/new", "/register/bring-in", "/labels", "/line", "/sweeps", "/study", "/drift/CB-014A", "/policy", "/your-numbers", "/waiting"];

async function settled(page: Page, path: string): Promise<void> {
  await page.goto(path);
  await expect(page.getByRole("heading", { level: 1 })).toBeVisible();
  await expect(page.getByText("Asking…")).toHaveCount(0);
}

for (const width of [1280, 768]) {
  test(`text twice as large loses nothing at ${width} px`, async ({ page }) => {
    test.setTimeout(180_000);
    await page.setViewportSize({ width, height: 900 });
    for (const path of MAIN) {
      await settled(page, path);
      await page.evaluate(() => (document.documentElement.style.fontSize = "225%"));
      await fits(page, `${path} with large text`);
      // No text that runs out of a box that hides what runs out.
      const cut = await page.evaluate(() =>
        [...document.querySelectorAll<HTMLElement>("main *, header *")]
          .filter((one) => one.checkVisibility() && !one.closest(".unseen, svg, .brand, .scroll, .label-sheet, .u-wrap") && one.textContent?.trim() !== "")
          .filter((one) => getComputedStyle(one).overflowX === "hidden" && one.scrollWidth > one.clientWidth + 2)
          .map((one) => one.outerHTML.slice(0, 120)),
      );
      expect(cut, `${path} with large text`).toEqual([]);
      await audit(page, `${path} with large text`);
    }
  });
}

test("who wants no motion gets none", async ({ page }) => {
  test.setTimeout(120_000);
  await page.emulateMedia({ reducedMotion: "reduce" });
  for (const path of MAIN) {
    await settled(page, path);
    const moving = await page.evaluate(() => {
      const still = (text: string) => text.split(",").every((part) => Number.parseFloat(part) === 0);
      const styled = [...document.querySelectorAll("*")].filter((one) => {
        const style = getComputedStyle(one);
        return !still(style.transitionDuration) || (style.animationName !== "none" && !still(style.animationDuration)) || style.scrollBehavior === "smooth";
      });
      return [...styled.map((one) => one.outerHTML.slice(0, 80)), ...document.getAnimations().map(String)];
    });
    expect(moving, path).toEqual([]);
  }
});

/** What the focus is on: whether it can be seen there, and what it is. */
async function focus(page: Page): Promise<{ what: string; faults: string[] }> {
  return page.evaluate(() => {
    const on = document.activeElement;
    if (!(on instanceof HTMLElement || on instanceof SVGElement) || on === document.body) return { what: "", faults: [] };
    const faults: string[] = [];
    const marks = [on, on.closest("label"), on.closest(".word"), on.closest(".look-outcome"), on.parentElement];
    const isMarked = marks.some((one) => {
      if (!one) return false;
      const style = getComputedStyle(one);
      return style.outlineStyle !== "none" && Number.parseFloat(style.outlineWidth) >= 2;
    });
    if (!isMarked) faults.push("no visible focus");
    const box = on.getBoundingClientRect();
    const inView = box.bottom > 0 && box.top < innerHeight && box.right > 0 && box.left < innerWidth;
    if (!inView) faults.push("out of the window");
    else {
      // Not wholly hidden behind something that stays in place.
      const xs = [0.1, 0.5, 0.9].map((f) => Math.min(innerWidth - 1, Math.max(0, box.left + box.width * f)));
      const ys = [0.1, 0.5, 0.9].map((f) => Math.min(innerHeight - 1, Math.max(0, box.top + box.height * f)));
      const isSeen = xs.some((x) => ys.some((y) => {
        const top = document.elementFromPoint(x, y);
        return top !== null && (on.contains(top) || top.contains(on) || top.closest("label")?.contains(on) === true);
      }));
      if (!isSeen) faults.push("behind something else");
    }
    return { what: `${on.tagName} ${on.id || (on.textContent ?? "").trim().slice(0, 40)}`, faults };
  });
}

test("with the keyboard only: every main screen, forth and back, and the focus is always seen", async ({ page }) => {
  test.setTimeout(240_000);
  for (const path of MAIN) {
    await settled(page, path);
    await page.evaluate(() => document.querySelector<HTMLElement>(".skip")?.focus());
    const seen = new Set<string>();
    for (const key of ["Tab", "Shift+Tab"]) {
      for (let i = 0; i < 45; i++) {
        await page.keyboard.press(key);
        const { what, faults } = await focus(page);
        if (what === "") continue;
        seen.add(what);
        expect(faults, `${path}: ${what}`).toEqual([]);
      }
    }
    expect(seen.size, path).toBeGreaterThan(8);
  }
});

test("with the keyboard only: a mate is checked, logged and taken back", async ({ page, request }) => {
  const [a, b] = await pair(request, "go", LIKE).catch(() => pair(request, "go-with-care", LIKE));
  await ready(page);
  const reach = async (name: string, key = "Tab") => {
    for (let i = 0; i < 60; i++) {
      await page.keyboard.press(key);
      if (await page.evaluate((text) => (document.activeElement?.textContent ?? "").trim() === text || document.activeElement?.id === text, name)) return;
    }
    throw new Error(`expected to reach ${name} by ${key}`);
  };
  const slowly = (text: string) => page.keyboard.type(text, { delay: 130 });
  await reach("person");
  await slowly("keyboard-person");
  await page.keyboard.press("Enter");
  await expect(page.getByRole("textbox", { name: /^Scan/ })).toBeFocused();
  await slowly(a);
  await page.keyboard.press("Enter");
  await expect(page.getByRole("region", { name: `First end: ${a}` })).toBeVisible();
  await slowly(b);
  await page.keyboard.press("Enter");
  await expect(page.getByRole("heading", { name: /^Go/ })).toBeVisible();
  await reach("Log this mate");
  await page.waitForTimeout(200);
  await page.keyboard.press("Enter");
  await expect(page.getByText(`Logged: ${a} on ${b}.`)).toBeVisible();
  await reach("Take back");
  await page.keyboard.press("Space");
  await expect(page.getByText("Taken back. The record keeps both.")).toBeVisible();
  await audit(page, "a mate by the keyboard");
});

test("the header takes at most two rows on a tablet, and the other screens are behind one button", async ({ page }) => {
  await page.setViewportSize({ width: 768, height: 1024 });
  await page.goto("/");
  const height = async () => (await page.locator("header.top").boundingBox())?.height ?? 999;
  const row = (await page.getByRole("link", { name: "Due" }).boundingBox())?.height ?? 0;
  expect(await height()).toBeLessThan(1.5 * row);
  const more = page.getByRole("button", { name: "More" });
  await expect(page.getByRole("link", { name: "Policy" })).toBeHidden();
  await more.press("Enter");
  await expect(page.getByRole("link", { name: "Policy" })).toBeVisible();
  expect(await height()).toBeLessThan(2.5 * row);
  await audit(page, "the other screens");
  await page.getByRole("link", { name: "Policy" }).click();
  await expect(page.getByRole("link", { name: "Policy" })).toHaveAttribute("aria-current", "page");
  await page.getByRole("link", { name: "Due" }).click();
  await expect(page.getByRole("link", { name: "Policy" })).toBeHidden();
});
