import type { Browser, BrowserContext, Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { expectAccessible, launchBrowser, signInAs } from "@/test/support/browser";

let browser: Browser;

beforeAll(async () => {
  browser = await launchBrowser();
});

afterAll(async () => {
  await browser?.close();
});

/** Makes a round of short stops in the first property with enough homes that are on no round yet, and gives its id. */
async function makeRound(page: Page, week: string): Promise<string> {
  const address = `/upkeep/rounds/new?week=${week}&days=3&tasks=relief-valve-test`;
  await page.goto(address);
  const options = page.getByLabel("Property").locator("option");
  const properties = await options.evaluateAll((all) =>
    all.map((option) => (option as HTMLOptionElement).value),
  );
  for (const property of properties) {
    await page.goto(`${address}&property=${property}`);
    const homes = await page.locator("tbody tr").count();
    const make = page.getByRole("button", { name: "Make this round" });
    if (homes < 5 || (await make.count()) === 0) continue;
    await make.click();
    await page.waitForURL(/\/upkeep\/rounds\/[0-9a-f-]{36}$/);
    return page.url().split("/").at(-1) ?? "";
  }
  throw new Error("no property has enough homes that are on no round");
}

const note = (page: Page) => page.getByRole("textbox", { name: "Note" }).first();

const stops = (page: Page) => page.locator("ol > li > button");
const says = (page: Page, words: string | RegExp) =>
  page.getByRole("status").filter({ hasText: words }).waitFor();

async function openStop(page: Page, number: number): Promise<void> {
  await stops(page)
    .nth(number - 1)
    .click();
  await page.getByRole("button", { name: "Save stop" }).waitFor();
}

async function record(page: Page, number: number, finding: string): Promise<void> {
  await openStop(page, number);
  await page.getByRole("radio", { name: finding }).first().check();
  await page.getByRole("button", { name: "Save stop" }).click();
  await stops(page).first().waitFor();
}

/** A new page of the same browser, as after the old one was closed. */
async function reopen(context: BrowserContext, address: string): Promise<Page> {
  for (const page of context.pages()) await page.close();
  const page = await context.newPage();
  await page.goto(address);
  await stops(page).first().waitFor();
  return page;
}

/** Rows of the work log that a person made. */
async function logRows(page: Page, person: string): Promise<readonly string[]> {
  const response = await page.request.get(`/upkeep/log/csv?${new URLSearchParams({ person })}`);
  expect(response.status()).toBe(200);
  return (await response.text()).split("\r\n").filter((line) => line.includes("relief valve"));
}

/** A picture of 8 × 8 points, drawn by the browser. */
async function aPicture(page: Page): Promise<Buffer> {
  const base64 = await page.evaluate(() => {
    const canvas = document.createElement("canvas");
    canvas.width = 8;
    canvas.height = 8;
    canvas.getContext("2d")?.fillRect(0, 0, 5, 5);
    return canvas.toDataURL("image/png").split(",")[1];
  });
  return Buffer.from(base64, "base64");
}

const MAINTENANCE = "Demo maintenance lead";

describe("a round on a phone", () => {
  test("with the network cut half-way, a reload, a closed page and a lost answer: nothing lost, nothing twice", async () => {
    const { page: first, context } = await signInAs(browser, "maintenance", { width: 390 });
    const id = await makeRound(first, "2027-02-01");
    const address = `/upkeep/rounds/${id}/walk`;
    await first.goto(address);
    await says(first, "Opens without a signal");
    const before = (await logRows(first, MAINTENANCE)).length;

    await record(first, 1, "Works");
    await says(first, "Everything is sent");

    await context.setOffline(true);
    const picture = await aPicture(first);
    await openStop(first, 2);
    await first.getByRole("radio", { name: "Works" }).first().check();
    await first.getByRole("button", { name: "5 minutes more" }).first().click();
    await first.getByRole("button", { name: "+ Washer" }).first().click();
    await first.getByLabel("Dollars for part 1").first().fill("1.50");
    await first
      .getByLabel(/^Photos/)
      .first()
      .setInputFiles({ name: "valve.png", mimeType: "image/png", buffer: picture });
    await first.getByText("Photos (1 of 6)").waitFor();
    await first.getByRole("button", { name: "Save stop" }).click();
    await says(first, /No signal.*1 entry waits on this phone.*1 photo waits/);

    // Half filled in, then the page is loaded again without a network.
    await openStop(first, 3);
    await first.getByRole("radio", { name: "Weeps after the test" }).first().check();
    await first.getByText("Do not plug or cap the valve").waitFor();
    await note(first).fill("drips on the floor");
    await first.waitForTimeout(300);
    await first.reload();
    await first.getByRole("button", { name: "Save stop" }).waitFor();
    expect(
      await first.getByRole("radio", { name: "Weeps after the test" }).first().isChecked(),
    ).toBe(true);
    expect(await note(first).inputValue()).toBe("drips on the floor");
    await first.getByRole("button", { name: "Save stop" }).click();
    await says(first, /2 entries wait on this phone/);

    // The browser's page is closed and opened again, still without a network.
    const page = await reopen(context, address);
    await says(page, /2 entries wait on this phone/);
    await openStop(page, 4);
    await page.getByRole("button", { name: "No access" }).click();
    await says(page, /3 entries wait on this phone/);

    // The first answer after the network is back is lost although the server has kept the entry.
    let lost = 0;
    await context.route("**/api/upkeep/entries", async (route) => {
      if (lost > 0) return route.continue();
      lost += 1;
      const response = await route.fetch();
      expect(response.status()).toBe(200);
      return route.abort();
    });
    await context.setOffline(false);
    await says(page, "Everything is sent");
    expect(lost).toBe(1);

    const rows = await logRows(page, MAINTENANCE);
    expect(rows.length - before).toBe(3);
    expect(rows.filter((row) => row.includes("Washer"))).toHaveLength(1);
    expect(rows.filter((row) => row.includes("drips on the floor"))).toHaveLength(1);

    await page.goto(`/upkeep/rounds/${id}`);
    const states = page.locator("tbody tr td:last-child");
    expect(await states.nth(0).textContent()).toContain("Done");
    expect(await states.nth(3).textContent()).toContain("No access");
    const photo = await page.request.get(
      (await page.getByRole("link", { name: "Photo 1" }).getAttribute("href")) ?? "",
    );
    expect(photo.headers()).toMatchObject({
      // Drawn anew on the phone: what came as PNG is kept as JPEG.
      "content-type": "image/jpeg",
      "x-content-type-options": "nosniff",
    });
    await page.goto("/upkeep/urgent");
    await page.getByText("drips on the floor").waitFor();
    await context.close();
  });

  test("what somebody else recorded meanwhile is shown, and the person decides", async () => {
    const lead = await signInAs(browser, "maintenance", { width: 390 });
    const manager = await signInAs(browser, "manager", { width: 390 });
    const id = await makeRound(lead.page, "2027-02-08");
    for (const { page } of [lead, manager]) {
      await page.goto(`/upkeep/rounds/${id}/walk`);
      await says(page, "Opens without a signal");
    }
    const before = (await logRows(lead.page, MAINTENANCE)).length;
    await lead.context.setOffline(true);
    await record(lead.page, 1, "Works");
    await record(lead.page, 2, "Works");
    await record(manager.page, 1, "Works");
    await record(manager.page, 2, "Works");
    await says(manager.page, "Everything is sent");

    await lead.context.setOffline(false);
    await says(lead.page, /2 entries need you/);
    await stops(lead.page).nth(0).click();
    await lead.page.getByText("Demo portfolio manager has recorded this stop as done").waitFor();
    await lead.page.getByRole("button", { name: "Keep mine as well" }).click();
    await stops(lead.page).nth(1).click();
    await lead.page.getByRole("button", { name: "Drop mine" }).click();
    await says(lead.page, "Everything is sent");
    expect((await logRows(lead.page, MAINTENANCE)).length - before).toBe(1);
    expect(lead.complaints.filter((line) => line.startsWith("error"))).toEqual([]);
    await lead.context.close();
    await manager.context.close();
  });

  test("an entry is taken back and changed, before it was sent and after", async () => {
    const { page, context } = await signInAs(browser, "maintenance", { width: 390 });
    const id = await makeRound(page, "2027-02-15");
    await page.goto(`/upkeep/rounds/${id}/walk`);
    await says(page, "Opens without a signal");
    const before = (await logRows(page, MAINTENANCE)).length;
    await record(page, 1, "Works");
    await says(page, "Everything is sent");
    await context.setOffline(true);
    await stops(page).nth(0).click();
    await page.getByRole("button", { name: "Take back" }).click();
    await record(page, 2, "Works");
    await stops(page).nth(1).click();
    await page.getByRole("button", { name: "Change it" }).click();
    await openStop(page, 2);
    expect(await page.getByRole("radio", { name: "Works" }).first().isChecked()).toBe(true);
    await note(page).fill("changed");
    await page.getByRole("button", { name: "Save stop" }).click();
    await context.setOffline(false);
    await says(page, "Everything is sent");
    const rows = await logRows(page, MAINTENANCE);
    expect(rows.length - before).toBe(1);
    expect(rows.filter((row) => row.includes("changed"))).toHaveLength(1);
    await context.close();
  });

  test("two pages of one browser that send at once send once, and one bad entry holds back no other", async () => {
    const { page, context } = await signInAs(browser, "maintenance", { width: 390 });
    const id = await makeRound(page, "2027-02-22");
    const address = `/upkeep/rounds/${id}/walk`;
    await page.goto(address);
    await says(page, "Opens without a signal");
    const before = (await logRows(page, MAINTENANCE)).length;
    const second = await context.newPage();
    await second.goto(address);
    await stops(second).first().waitFor();
    await context.setOffline(true);
    await record(page, 1, "Works");
    await record(page, 2, "Works");
    await record(page, 3, "Works");
    // The server fails on the first entry it is sent, as often as it comes.
    let isFailing = true;
    let failing: string | null = null;
    await context.route("**/api/upkeep/entries", async (route) => {
      const { key } = route.request().postDataJSON() as { key: string };
      failing ??= key;
      if (key !== failing || !isFailing) return route.continue();
      return route.fulfill({ status: 500, body: "failed" });
    });
    await context.setOffline(false);
    await says(page, /The server does not take it now.*1 entry waits/);
    expect((await logRows(page, MAINTENANCE)).length - before).toBe(2);
    isFailing = false;
    await says(page, "Everything is sent");
    await says(second, "Everything is sent");
    expect((await logRows(page, MAINTENANCE)).length - before).toBe(3);
    await context.close();
  });

  test("who signs out leaves no round behind for the next person", async () => {
    const { page, context } = await signInAs(browser, "maintenance", { width: 390 });
    const id = await makeRound(page, "2027-03-15");
    await page.goto(`/upkeep/rounds/${id}/walk`);
    await says(page, "Opens without a signal");
    const kept = () =>
      page.evaluate(async () => {
        const pages = await caches.open("tanklore-rounds-1");
        return (await pages.keys()).filter(({ url }) => url.endsWith("/walk")).length;
      });
    expect(await kept()).toBe(1);
    await page.goto("/upkeep");
    await page.getByRole("button", { name: "Sign out" }).click();
    await page.getByLabel("Password").waitFor();
    await expect.poll(kept).toBe(0);
    await context.setOffline(true);
    await page.goto(`/upkeep/rounds/${id}/walk`);
    await page.getByRole("heading", { name: "No signal" }).waitFor();
    await context.close();
  });

  test("the program can be put on the home screen", async () => {
    const { page, context } = await signInAs(browser, "maintenance", { width: 390 });
    const manifest = await (await page.request.get("/manifest.webmanifest")).json();
    expect(manifest).toMatchObject({ start_url: "/upkeep/rounds", display: "standalone" });
    for (const icon of manifest.icons as { src: string; sizes: string }[]) {
      const bytes = await (await page.request.get(icon.src)).body();
      // Width and height of a PNG stand at octets 16 to 24 (ISO/IEC 15948, 11.2.1).
      expect(`${bytes.readUInt32BE(16)}x${bytes.readUInt32BE(20)}`).toBe(icon.sizes);
    }
    await page.goto("/upkeep/rounds");
    await page.evaluate(() => navigator.serviceWorker.ready);
    const session = await context.newCDPSession(page);
    const { installabilityErrors } = await session.send("Page.getInstallabilityErrors");
    // A private window, as tests run in, cannot install anything: that alone may be in the way.
    expect(
      installabilityErrors.map(({ errorId }) => errorId).filter((id) => id !== "in-incognito"),
    ).toEqual([]);
    await context.close();
  });
});

describe("the screens of a round", () => {
  for (const [width, colorScheme] of [
    [1440, "light"],
    [390, "dark"],
  ] as const) {
    test(`are accessible and without complaints at ${width} px, ${colorScheme}`, async () => {
      const { page, context, complaints } = await signInAs(browser, "maintenance", {
        width,
        colorScheme,
      });
      const id = await makeRound(page, width === 390 ? "2027-03-01" : "2027-03-08");
      for (const path of [
        "/upkeep?order=worth",
        `/upkeep/rounds/${id}`,
        `/upkeep/rounds/${id}/sheet`,
        `/upkeep/rounds/${id}/notices`,
        `/upkeep/rounds/${id}/walk`,
      ]) {
        await page.goto(path);
        await page.getByRole("heading", { level: 1 }).waitFor();
        await expectAccessible(page);
      }
      await page.goto(`/upkeep/rounds/${id}/walk`);
      await openStop(page, 1);
      await expectAccessible(page);
      expect(complaints).toEqual([]);
      await context.close();
    });
  }
});
