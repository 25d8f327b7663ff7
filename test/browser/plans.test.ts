import { readFile } from "node:fs/promises";
import { parse } from "csv-parse/sync";
import type { Browser } from "playwright-core";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { type Desk, expectAccessible, launchBrowser, signInAs } from "@/test/support/browser";

let browser: Browser;
let desk: Desk;
/** Address of the plan's life. */
let life: string;

beforeAll(async () => {
  browser = await launchBrowser();
  desk = await signInAs(browser, "manager");
  desk.page.setDefaultTimeout(60_000);
  const { page } = desk;
  await page.goto("/plans/new");
  await page.getByRole("button", { name: "Save and compute the plan" }).click();
  await page.waitForURL(/\/plans\/[0-9a-f-]{36}$/);
  await page.getByRole("heading", { name: "Ledger of years" }).waitFor({ timeout: 200_000 });
  await page.getByRole("link", { name: "Promised and done" }).click();
  await page.waitForURL(/\/life$/);
  life = new URL(page.url()).pathname;
});

afterAll(async () => {
  expect(desk?.complaints).toEqual([]);
  await browser?.close();
});

describe("the demo's plan", () => {
  test("is checked again from its stored inputs and approved", async () => {
    const { page } = desk;
    await page.getByRole("button", { name: "Check again from stored inputs" }).click();
    await page.getByText("The stored inputs give the same fingerprint").waitFor();
    expect(await page.getByRole("button", { name: "Mark done" }).count()).toBe(0);

    await page.getByRole("button", { name: "Approve this plan" }).click();
    await page.getByText("In force since").waitFor();
  });

  test("has lines that are committed, done, dropped and taken back", async () => {
    const { page } = desk;
    const rows = page.getByRole("region", { name: /^Lines of/ }).locator("tbody tr");
    const choose = (index: number) => rows.nth(index).getByRole("checkbox").check();
    const stateOf = (index: number, state: string) =>
      rows.nth(index).getByRole("cell", { name: state, exact: true }).waitFor();

    await choose(0);
    await page.getByRole("button", { name: "Commit" }).click();
    await stateOf(0, "Committed");
    await choose(1);
    await page.getByRole("button", { name: "Drop" }).click();
    await stateOf(1, "Dropped");
    await choose(1);
    await page.getByRole("button", { name: "Take back" }).click();
    await stateOf(1, "Planned");

    await choose(2);
    await page.getByRole("button", { name: "Mark done" }).click();
    await page.getByText("say on which day it was done").waitFor();
    await page.getByLabel("Done on").fill("2020-01-02");
    await page.getByLabel("Cost of each, $").fill("1234.50");
    await page.getByRole("button", { name: "Mark done" }).click();
    await stateOf(2, "Done");
    await page.getByText(/days early/).waitFor();
  });

  test("is compared with what was done, on screen and as a file", async () => {
    const { page } = desk;
    await page.getByText(/^1 of .* lines are done; 1 early, 0 on time, 0 late/).waitFor();
    const download = page.waitForEvent("download");
    await page.getByRole("link", { name: "Planned against actual as CSV" }).click();
    const text = await readFile(await (await download).path(), "utf8");
    const rows: Record<string, string>[] = parse(text, { bom: true, columns: true });
    expect(rows.filter((row) => row.State === "Done")).toMatchObject([
      { "Actual cost, $": "1234.5", "Actual day": "2020-01-02" },
    ]);
    expect(rows.filter((row) => row.State === "Committed")).toHaveLength(1);
  });

  test("passes WCAG 2.2 AA as far as a machine can tell, in both themes, wide and on a phone", async () => {
    const { page } = desk;
    await page.goto(life, { waitUntil: "networkidle" });
    for (const colorScheme of ["light", "dark"] as const) {
      await page.emulateMedia({ colorScheme });
      for (const width of [390, 1440]) {
        await page.setViewportSize({ width, height: 900 });
        await expectAccessible(page);
      }
    }
  });

  test("shows its lines to a viewer, who may not act on them", async () => {
    const viewer = await signInAs(browser, "viewer");
    await viewer.page.goto(life, { waitUntil: "networkidle" });
    await viewer.page.getByText("In force since").waitFor();
    expect(await viewer.page.getByRole("checkbox").count()).toBe(0);
    expect(await viewer.page.getByRole("button", { name: "Withdraw it" }).count()).toBe(0);
    expect(viewer.complaints).toEqual([]);
    await viewer.context.close();
  });
});
