import type { Browser } from "playwright-core";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { type Desk, expectAccessible, launchBrowser, signInAs } from "@/test/support/browser";
import { PROGRESSIVE_JPEG, withSegment } from "@/test/support/small-jpegs";

let browser: Browser;
let desk: Desk;
let phone: Desk;
/** Addresses of a building of several heaters and of one of its heaters. */
let building: string;
let heater: string;

beforeAll(async () => {
  browser = await launchBrowser();
  desk = await signInAs(browser, "manager");
  phone = await signInAs(browser, "maintenance", { width: 390 });
  await desk.page.goto("/sites", { waitUntil: "networkidle" });
  const first = desk.page.locator('th a[href^="/sites/buildings/"]').first();
  building = new URL((await first.getAttribute("href")) ?? "", desk.page.url()).pathname;
  await desk.page.goto(building, { waitUntil: "networkidle" });
  heater =
    (await desk.page.locator('th a[href^="/sites/heaters/"]').first().getAttribute("href")) ?? "";
});

afterAll(async () => {
  expect([...(desk?.complaints ?? []), ...(phone?.complaints ?? [])]).toEqual([]);
  await browser?.close();
});

/** Pages that a browser would print it on. */
async function pagesOnPaper(address: string): Promise<number> {
  await desk.page.goto(address, { waitUntil: "networkidle" });
  const pdf = await desk.page.pdf({ format: "Letter" });
  return [...pdf.toString("latin1").matchAll(/\/Type\s*\/Page\b/g)].length;
}

describe("every page of a place", () => {
  test("passes WCAG 2.2 AA as far as a machine can tell, wide and on a phone", async () => {
    const { page } = desk;
    const pages = ["", "/headroom", "/plant", "/cards"]
      .map((part) => building + part)
      .concat(["", "/survey", "/card"].map((part) => heater + part));
    for (const address of pages) {
      await page.goto(address, { waitUntil: "networkidle" });
      for (const width of [390, 1440]) {
        await page.setViewportSize({ width, height: 900 });
        await expectAccessible(page);
      }
    }
  });

  test("prints: one heater's card and its survey sheet on one page each", async () => {
    expect(await pagesOnPaper(`${heater}/card`)).toBe(1);
    expect(await pagesOnPaper(`${heater}/survey`)).toBe(1);
  });
});

describe("the central plant of a building", () => {
  test("says what is missing while it is typed, and is kept for the plans", async () => {
    const { page } = desk;
    await page.goto(`${building}/plant`, { waitUntil: "networkidle" });
    await page.getByRole("heading", { name: /gallons and .* kBtu\/h/ }).waitFor();
    await page.getByLabel("Storage, gallons").fill("30");
    await page.getByRole("heading", { name: "Too small for the busiest hours" }).waitFor();
    await page.getByLabel("Storage, gallons").fill("30000");
    await page.getByRole("heading", { name: "Enough for these homes" }).waitFor();
    await page.getByLabel("Recovery hours a day").fill("30");
    await page.getByText("Must be from 4 to 24.").waitFor();
    await page.getByLabel("Recovery hours a day").fill("18");
    await page.getByLabel("Single heaters give way together").selectOption("building");
    await page.getByRole("button", { name: "Keep this plant" }).click();
    await page.getByText("Kept.").waitFor();

    await page.reload({ waitUntil: "networkidle" });
    expect(await page.getByLabel("Recovery hours a day").inputValue()).toBe("18");
    expect(await page.getByLabel("Single heaters give way together").inputValue()).toBe("building");
  });
});

describe("a survey on a phone", () => {
  test("has targets that a thumb can hit, and keeps what was answered", async () => {
    const { page } = phone;
    await page.goto(`${heater}/survey`, { waitUntil: "networkidle" });
    const group = page.getByRole("group", { name: /room for a taller and wider tank/ });
    const box = await group.locator("label", { hasText: "Yes" }).boundingBox();
    expect(box?.height).toBeGreaterThanOrEqual(48);
    expect(box?.width).toBeGreaterThanOrEqual(96);
    await group.getByText("Yes", { exact: true }).click();
    await page.getByRole("button", { name: "Keep 1 answer" }).click();
    await page.getByText("Kept.").waitFor();
  });

  test("takes a photo, keeps nothing that the camera wrote beside it, and serves it as a picture only", async () => {
    const { page } = phone;
    await page.goto(`${heater}/survey`, { waitUntil: "networkidle" });
    await page.getByText("Note, measures, photo").first().click();
    await page
      .locator('input[type="file"]')
      .first()
      .setInputFiles({
        name: "IMG_1.HEIC.html",
        mimeType: "image/jpeg",
        buffer: Buffer.from(withSegment(PROGRESSIVE_JPEG, 0xe1, "Exif\0\0GPS 47.1 N")),
      });
    await page.getByText("Kept.").waitFor();

    await page.goto(heater, { waitUntil: "networkidle" });
    const address = await page.locator('img[src^="/sites/photos/"]').first().getAttribute("src");
    const answer = await page.request.get(address ?? "");
    expect(answer.headers()).toMatchObject({
      "content-type": "image/jpeg",
      "x-content-type-options": "nosniff",
      "content-security-policy": expect.stringMatching(/sandbox/),
    });
    const bytes = await answer.body();
    expect([...bytes.subarray(0, 3)]).toEqual([0xff, 0xd8, 0xff]);
    expect(bytes.toString("latin1")).not.toMatch(/Exif|GPS|JFIF|ICC_PROFILE/);
  });

  test("refuses what is no picture, whatever it says it is", async () => {
    const { page } = phone;
    const post = (data: Buffer) =>
      page.request.post(
        `${heater}/photos?id=${crypto.randomUUID()}&takenOn=2026-11-01&item=clearance`,
        { headers: { "content-type": "image/jpeg" }, data },
      );
    expect((await post(Buffer.from("<html><script>alert(1)</script>"))).status()).toBe(422);
    expect((await post(Buffer.from([0xff, 0xd8, 0xff, 0xe0, 0, 2, 60]))).status()).toBe(422);
    expect((await post(Buffer.alloc(3_000_000, 1))).status()).toBe(413);
  });
});
