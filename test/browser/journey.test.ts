import { readFile } from "node:fs/promises";
import { parse } from "csv-parse/sync";
import type { Browser } from "playwright-core";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { type Desk, launchBrowser, signInAs } from "@/test/support/browser";

/** The main job: from a manager's spreadsheet to a budgeted plan, as a person does it. */
let browser: Browser;
let desk: Desk;

beforeAll(async () => {
  browser = await launchBrowser();
  desk = await signInAs(browser, "manager");
  desk.page.setDefaultTimeout(60_000);
});

afterAll(async () => {
  expect(desk?.complaints).toEqual([]);
  await browser?.close();
});

const SPREADSHEET = [
  "Asset,Property,Building,Unit,Type,Install Date,Tank size (gal),Setpoint F",
  "JT-1,Journey Court,Building 1,101,Gas tank,2014-03-02,40,120",
  "JT-2,Journey Court,Building 1,102,Gas tank,Mar 2016,50,125",
  "JT-3,Journey Court,Building 1,103,Gas tank,2135-02-01,40,120",
].join("\n");

describe("from a spreadsheet to a plan", () => {
  test("a spreadsheet is matched by guess, previewed with its refused rows, brought in", async () => {
    const { page } = desk;
    await page.getByRole("link", { name: "Bring in" }).click();
    await page.getByLabel("Drop a CSV or XLSX file here, or choose one").setInputFiles({
      name: "heaters.csv",
      mimeType: "text/csv",
      buffer: Buffer.from(SPREADSHEET),
    });
    await page.waitForURL(/\/import\/[0-9a-f-]{36}/);
    expect(await page.getByLabel("Read Tank size (gal) as").inputValue()).toBe("volume");
    await page.getByRole("button", { name: "See what would change" }).click();

    await page.getByRole("heading", { name: "Bring it in" }).waitFor();
    await page.getByText("install date 2135-02-01 is in the future").first().waitFor();
    await page.getByRole("button", { name: "Add 2 heaters" }).click();
    await page.getByText("Brought in").first().waitFor();
  });

  test("the register finds what came in, and its page can be edited", async () => {
    const { page } = desk;
    await page.goto("/heaters", { waitUntil: "networkidle" });
    await page.getByLabel("Search").fill("JT-2");
    await page.waitForURL(/q=JT-2/);
    await page.waitForLoadState("networkidle");
    await page.locator('a[href^="/heaters/"]', { hasText: "JT-2" }).click();
    await page.getByRole("heading", { name: "JT-2", level: 1 }).waitFor();
    await page.getByText("Journey Court").filter({ visible: true }).first().waitFor();
    await page.getByRole("link", { name: "Edit" }).click();

    const setpoint = page.getByLabel(/^Setpoint/).first();
    await setpoint.fill("400");
    await page.getByRole("button", { name: /^Save/ }).click();
    await page.getByRole("alert").first().waitFor();
    expect(await setpoint.inputValue(), "what was typed stays").toBe("400");
    await setpoint.fill("130");
    await page.getByRole("button", { name: /^Save/ }).click();
    await page.waitForURL(/\/heaters\/[0-9a-f-]{36}$/);
    await page
      .getByText(/130 °F/)
      .first()
      .waitFor();
  });

  test("the ranking says which heaters come first and why", async () => {
    const { page } = desk;
    await page.goto("/risk");
    await page.getByRole("heading", { name: "Which ones first" }).waitFor();
    await page
      .getByText(/of this kind/)
      .first()
      .waitFor();
  });

  test("a scenario becomes a plan with a proof of its quality", async () => {
    const { page } = desk;
    await page.goto("/plans/new");
    await page.getByRole("button", { name: "Save and compute the plan" }).click();
    await page.waitForURL(/\/plans\/[0-9a-f-]{36}$/);
    await page
      .getByText(/no schedule can be more than|No schedule can be better/)
      .first()
      .waitFor({ timeout: 200_000 });
    await page.getByRole("heading", { name: "Ledger of years" }).waitFor();

    const download = page.waitForEvent("download");
    await page.getByRole("link", { name: "Schedule as CSV" }).click();
    const text = await readFile(await (await download).path(), "utf8");
    const rows: string[][] = parse(text, { bom: true });
    expect(rows.length).toBeGreaterThan(1000);
    expect(new Set(rows.map((row) => row.length)).size, "every row is as wide as the heading").toBe(
      1,
    );
  });

  test("emissions are shown along that plan", async () => {
    const { page } = desk;
    await page.goto("/emissions");
    await page.getByRole("heading", { name: "Emissions", level: 1 }).waitFor();
    await page.getByRole("button", { name: "Compute the account" }).click();
    await page.getByText("Scope 2, location-based").first().waitFor({ timeout: 120_000 });
    await page.getByText("Planned").first().waitFor();
  });

  test("a spreadsheet that was brought in can be undone whole", async () => {
    const { page } = desk;
    await page.goto("/import");
    await page.getByRole("link", { name: "heaters.csv" }).first().click();
    await page.waitForURL(/\/import\/[0-9a-f-]{36}/);
    await page.getByRole("button", { name: "Undo this file" }).click();
    await page.getByText("Undone").first().waitFor();
    await page.getByText("JT-2").first().waitFor();
    await page.goto("/heaters?q=JT-1");
    await page
      .getByText(/no heater/i)
      .first()
      .waitFor();
  });
});
