import { readFile } from "node:fs/promises";
import { join } from "node:path";
import { afterAll, beforeAll, expect, test } from "vitest";
import { launchBrowser } from "@/test/support/browser";
import { makeDataDirectory, type Program, startProgram } from "@/test/support/program";

const TOKEN = "a-token-of-this-test-run";
let data: Awaited<ReturnType<typeof makeDataDirectory>>;
let program: Program;

beforeAll(async () => {
  data = await makeDataDirectory();
  program = await startProgram({
    TANKLORE_DATA_DIR: data.path,
    TANKLORE_LOG: "info",
    TANKLORE_METRICS_TOKEN: TOKEN,
  });
});

afterAll(async () => {
  await program.interrupt();
  await data.remove();
});

async function killDatabase(): Promise<void> {
  const text = await readFile(join(data.path, "postgres/postmaster.pid"), "utf8");
  process.kill(Number(text.split("\n")[0]), "SIGKILL");
}

const statusOf = async (path: string) => (await fetch(`${program.baseUrl}${path}`)).status;

async function until(what: string, check: () => Promise<boolean>): Promise<void> {
  const end = Date.now() + 60_000;
  while (!(await check())) {
    if (Date.now() > end) throw new Error(`waited a minute until ${what}`);
    await new Promise((resolve) => setTimeout(resolve, 100));
  }
}

test("when the database is killed a page says so, and comes back by itself when it is up again", async () => {
  const browser = await launchBrowser();
  const page = await browser.newPage({ baseURL: program.baseUrl });
  await page.goto("/sign-in");
  await page.getByLabel("Email").fill("manager@demo.example");
  await page.getByLabel("Password").fill("sarnholt-demo");
  await page.getByRole("button", { name: "Sign in" }).click();
  await page.getByRole("link", { name: "Heaters", exact: true }).waitFor();
  expect(await statusOf("/api/ready")).toBe(200);

  await killDatabase();
  await until("the record is out of reach", async () => (await statusOf("/api/ready")) === 503);
  expect(await statusOf("/api/health")).toBe(200);
  await page.goto("/heaters").catch(() => undefined);
  // It is started again by the program; the page needs nobody.
  await page.getByRole("heading", { name: "Heaters", level: 1 }).waitFor({ timeout: 60_000 });
  await until("the record is back", async () => (await statusOf("/api/ready")) === 200);
  await browser.close();
});

test("the log is lines of JSON without addresses of people or ids of records", async () => {
  const lines = program
    .output()
    .split("\n")
    .filter((line) => line.startsWith("{"));
  const events = lines.map((line) => JSON.parse(line) as Record<string, unknown>);
  expect(events.some(({ event, path }) => event === "request" && path === "/heaters")).toBe(true);
  expect(lines.join("\n")).not.toMatch(/demo\.example|[0-9a-f]{8}-[0-9a-f]{4}-4[^"]*","path"/);
});

test("metrics are there for who has the token, in the Prometheus text format", async () => {
  expect(await statusOf("/api/metrics")).toBe(404);
  const response = await fetch(`${program.baseUrl}/api/metrics`, {
    headers: { authorization: `Bearer ${TOKEN}` },
  });
  expect(response.headers.get("content-type")).toContain("text/plain");
  const text = await response.text();
  expect(text).toMatch(/^tanklore_http_request_seconds_count\{method="GET",status="2xx"\} \d+$/m);
  expect(text).toMatch(/^tanklore_process_resident_memory_bytes \d/m);
});
