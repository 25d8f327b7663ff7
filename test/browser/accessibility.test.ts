import type { Browser, Page } from "playwright-core";
import { afterAll, beforeAll, expect, inject, test } from "vitest";
import { expectAccessible, launchBrowser, signInAs } from "@/test/support/browser";
import { SCREENS } from "./screens";

const WIDTHS = [390, 768, 1440];
const THEMES = ["light", "dark"] as const;

let browser: Browser;

beforeAll(async () => {
  browser = await launchBrowser();
});

afterAll(() => browser?.close());

/** The page as it stands, in both themes at three widths. */
async function expectAccessibleEverywhere(page: Page): Promise<void> {
  for (const colorScheme of THEMES) {
    await page.emulateMedia({ colorScheme });
    for (const width of WIDTHS) {
      await page.setViewportSize({ width, height: 900 });
      await expectAccessible(page);
    }
  }
}

/** The screens of one role share a sign-in. */
const roles = [...new Set(SCREENS.map(({ role }) => role))];

test.each(roles)(
  "the %s's screens pass WCAG 2.2 AA as far as a machine can tell, in both themes at three widths",
  async (role) => {
    const desk = await signInAs(browser, role);
    for (const { path } of SCREENS.filter((screen) => screen.role === role)) {
      await desk.page.goto(path, { waitUntil: "networkidle" });
      await expectAccessibleEverywhere(desk.page);
      expect(desk.complaints, path).toEqual([]);
    }
    await desk.context.close();
  },
);

test("the sign-in page does too", async () => {
  const page = await browser.newPage();
  await page.goto(`${inject("baseUrl")}/sign-in`);
  await expectAccessibleEverywhere(page);
  await page.close();
});
