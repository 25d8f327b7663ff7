import type { Browser, Locator } from "playwright-core";
import { afterAll, beforeAll, expect, test } from "vitest";
import { type Desk, launchBrowser, signInAs } from "@/test/support/browser";

/** Longer than the pause after which a search that is typed goes into the address. */
const ANSWER_MS = 1500;

let browser: Browser;
let desk: Desk;

beforeAll(async () => {
  browser = await launchBrowser();
  desk = await signInAs(browser, "manager");
});

afterAll(async () => {
  expect(desk?.complaints ?? []).toEqual([]);
  await browser?.close();
});

const WAYS: Readonly<Record<string, (row: Locator) => Promise<void>>> = {
  "a click on its tag": (row) => row.getByRole("link").click(),
  "a double click": (row) => row.getByRole("gridcell").last().dblclick(),
  "the Enter key": (row) => row.press("Enter"),
};

for (const [way, openRow] of Object.entries(WAYS)) {
  test(`a heater opened by ${way} right after typing a search stays open, however slow its page is`, async () => {
    const { page } = desk;
    await page.goto("/heaters", { waitUntil: "networkidle" });
    const row = page.locator('tr[data-index="1"]');
    const address = (await row.getByRole("link").getAttribute("href")) ?? "";
    expect(address).toMatch(/^\/heaters\/./);
    await page.route(
      (url) => url.pathname === address,
      async (route) => {
        await new Promise((resolve) => setTimeout(resolve, ANSWER_MS));
        await route.continue();
      },
    );
    // The address that the search asks for, which it must not come to.
    const searched: string[] = [];
    page.on("request", (request) => {
      const url = new URL(request.url());
      if (url.pathname === "/heaters" && url.searchParams.has("q")) searched.push(request.url());
    });

    await page.getByLabel("Search").pressSequentially("WH");
    await openRow(row);
    await page.waitForURL((url) => url.pathname === address);
    await page.waitForTimeout(ANSWER_MS);

    expect(new URL(page.url()).pathname).toBe(address);
    expect(searched).toEqual([]);
    await page.unrouteAll({ behavior: "wait" });
    page.removeAllListeners("request");
  });
}
