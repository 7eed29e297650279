import { createRequire } from "node:module";
import { audit, expect, fits, test } from "./lab";

const jsqr = createRequire(import.meta.url)("jsqr") as (data: Uint8ClampedArray, width: number, height: number) => { data: string } | null;

for (const [form, name] of [["flag", "Flag"], ["wrap", "Wrap"], ["lid", "Lid sheet"]] as const) {
  test(`labels as ${name}: text and a code that is read back, at their size in millimetres`, async ({ page }) => {
    await page.goto("/labels");
    await page.getByRole("radio", { name }).check();
    await page.getByLabel("Find ends by part of a label").fill("CB-001");
    await expect(page.getByRole("checkbox")).toHaveCount(2);
    await page.getByRole("button", { name: "Choose all shown" }).click();
    await expect(page.getByText("2 chosen")).toBeVisible();
    const labels = page.locator(`.label-${form}`);
    await expect(labels).toHaveCount(2);
    await expect(labels.first()).toContainText("CB-001A");
    // Text on both ends of what is folded or wrapped.
    if (form !== "lid") expect((await labels.first().innerText()).match(/CB-001A/g)).toHaveLength(2);
    await audit(page, `labels as ${name}`);
    await fits(page, `labels as ${name}`);
    await page.setViewportSize({ width: 768, height: 900 });
    await fits(page, `labels as ${name} on a tablet`);

    await page.emulateMedia({ media: "print" });
    await expect(page.getByRole("heading", { level: 1 })).toBeHidden();
    await expect(page.getByLabel("Find ends by part of a label")).toBeHidden();
    if (form === "flag") {
      const box = await labels.first().boundingBox();
      // 96 CSS pixels are 25.4 mm.
      expect(((box?.width ?? 0) * 25.4) / 96).toBeCloseTo(60, 0);
      expect(((box?.height ?? 0) * 25.4) / 96).toBeCloseTo(15, 0);
    }
    // The code as it is drawn, decoded by another library.
    const drawn = await labels.first().locator("svg").first().evaluate(async (svg) => {
      const side = Number(svg.getAttribute("viewBox")?.split(" ")[2]);
      const copy = svg.cloneNode(true) as SVGElement;
      copy.setAttribute("xmlns", "http://www.w3.org/2000/svg");
      copy.setAttribute("width", String(side * 6));
      copy.setAttribute("height", String(side * 6));
      copy.querySelector("rect")?.setAttribute("fill", "#fff");
      const image = new Image();
      image.src = URL.createObjectURL(new Blob([copy.outerHTML], { type: "image/svg+xml" }));
      await image.decode();
      const canvas = Object.assign(document.createElement("canvas"), { width: side * 6, height: side * 6 });
      const context = canvas.getContext("2d");
      context?.drawImage(image, 0, 0);
      return { width: side * 6, data: [...(context?.getImageData(0, 0, side * 6, side * 6).data ?? [])] };
    });
    expect(jsqr(new Uint8ClampedArray(drawn.data), drawn.width, drawn.width)?.data).toBe("CB-001A");
  });
}
