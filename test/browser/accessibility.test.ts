import type { Browser } from "playwright-core";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { expectAccessible, launchBrowser, signInAs } from "@/test/support/browser";
import { SCREENS } from "./screens";

const WIDTHS = [390, 768, 1440];
const THEMES = ["light", "dark"] as const;

let browser: Browser;

beforeAll(async () => {
  browser = await launchBrowser();
});

afterAll(() => browser?.close());

/** The screens of one role share a sign-in. */
const roles = [...new Set(SCREENS.map(({ role }) => role))];

describe.each(THEMES)("in the %s theme", (colorScheme) => {
  test.each(roles)(
    "the %s's screens pass WCAG 2.2 AA as far as a machine can tell, at three widths",
    async (role) => {
      const desk = await signInAs(browser, role, { colorScheme });
      for (const { path } of SCREENS.filter((screen) => screen.role === role)) {
        await desk.page.goto(path, { waitUntil: "networkidle" });
        for (const width of WIDTHS) {
          await desk.page.setViewportSize({ width, height: 900 });
          await expectAccessible(desk.page);
        }
        expect(desk.complaints, path).toEqual([]);
      }
      await desk.context.close();
    },
  );

  test("the sign-in page does too", async () => {
    const context = await browser.newContext({ colorScheme, baseURL: undefined });
    const page = await context.newPage();
    const { inject } = await import("vitest");
    await page.goto(`${inject("baseUrl")}/sign-in`);
    for (const width of WIDTHS) {
      await page.setViewportSize({ width, height: 900 });
      await expectAccessible(page);
    }
    await context.close();
  });
});
