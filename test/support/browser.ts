import { existsSync } from "node:fs";
import { AxeBuilder } from "@axe-core/playwright";
import { type Browser, type BrowserContext, chromium, type Page } from "playwright-core";
import { expect, inject } from "vitest";
import { DEMO_PASSWORD } from "@/demo-seed/people";
import type { Role } from "@/lib/core/shared/roles";

const DEBIAN_CHROMIUM = "/usr/bin/chromium";

/** The system's Chromium where there is one, otherwise the one that Playwright installed. */
export function launchBrowser(): Promise<Browser> {
  return chromium.launch({
    executablePath: existsSync(DEBIAN_CHROMIUM) ? DEBIAN_CHROMIUM : undefined,
    args: [
      "--no-sandbox",
      "--disable-gpu",
      "--disable-background-networking",
      "--disable-component-update",
      "--disable-sync",
    ],
  });
}

export type Desk = {
  readonly page: Page;
  readonly context: BrowserContext;
  /** Console errors, failed pages and uncaught errors since the start: there should be none. */
  readonly complaints: readonly string[];
};

/** A signed-in person at a desk of the given width. */
export async function signInAs(
  browser: Browser,
  role: Role,
  { width = 1440, colorScheme = "light" as "light" | "dark" } = {},
): Promise<Desk> {
  const context = await browser.newContext({
    baseURL: inject("baseUrl"),
    viewport: { width, height: width < 600 ? 844 : 950 },
    colorScheme,
    acceptDownloads: true,
  });
  const page = await context.newPage();
  const complaints: string[] = [];
  page.on("console", (message) => {
    if (message.type() === "error")
      complaints.push(`console: ${message.text()} ${message.location().url}`);
  });
  page.on("pageerror", (error) => complaints.push(`error: ${error.message}`));
  await page.goto("/sign-in");
  await page.getByLabel("Email").fill(`${role}@demo.example`);
  await page.getByLabel("Password").fill(DEMO_PASSWORD);
  await page.getByRole("button", { name: "Sign in" }).click();
  await page.waitForURL((url) => url.pathname === "/");
  return { page, context, complaints };
}

/** WCAG 2.2 AA as far as a machine can tell, and no sideways scrolling of the page. */
export async function expectAccessible(page: Page): Promise<void> {
  // Without frames of other origins there is no need for a page of its own to gather the results in.
  const result = await new AxeBuilder({ page })
    .setLegacyMode()
    .withTags(["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"])
    .analyze();
  const found = result.violations.map(
    ({ id, help, nodes }) =>
      `${id}: ${help} (${nodes
        .slice(0, 3)
        .map((node) => node.target.join(" "))
        .join("; ")})`,
  );
  expect(found, page.url()).toEqual([]);
  const overflow = await page.evaluate(
    () => document.documentElement.scrollWidth - document.documentElement.clientWidth,
  );
  expect(overflow, `sideways scroll of ${page.url()}`).toBeLessThanOrEqual(0);
}
