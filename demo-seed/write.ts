import { randomUUID } from "node:crypto";
import { hashPassword } from "better-auth/crypto";
import pg from "pg";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import { type CopyValue, copyRows } from "@/lib/data/bulk";
import { generateDemo } from "./generate";
import { DEMO_NAME, DEMO_PASSWORD, DEMO_PEOPLE } from "./people";
import type { DemoPortfolio } from "./rows";

export type WriteDemoOptions = {
  readonly seed: number;
  readonly today: CalendarDay;
  readonly heaters?: number;
  /** The demo's own sign-ins are made unless this is false. */
  readonly people?: boolean;
};

/**
 * Writes the invented portfolio as one organisation, in one transaction, as the database's owner.
 * @returns the organisation's id.
 */
export async function writeDemo(ownerUrl: string, options: WriteDemoOptions): Promise<string> {
  const portfolio = generateDemo(options);
  const client = new pg.Client({ connectionString: ownerUrl });
  await client.connect();
  try {
    await client.query("BEGIN");
    const organizationId = randomUUID();
    await client.query('INSERT INTO "Organization" (id, name, "isDemo") VALUES ($1, $2, true)', [
      organizationId,
      DEMO_NAME,
    ]);
    if (options.people !== false) await writePeople(client, organizationId);
    for (const [table, rows] of tablesOf(portfolio)) {
      await writeTable(client, organizationId, table, rows);
    }
    await client.query("COMMIT");
    await client.query("ANALYZE");
    return organizationId;
  } finally {
    await client.end();
  }
}

type Row = Readonly<Record<string, CopyValue>>;

/** In the order of their references. */
function tablesOf(portfolio: DemoPortfolio): readonly (readonly [string, readonly Row[]])[] {
  const seenFrom = new Map(portfolio.trueLives.map((life) => [life.heaterId, life.seenFrom]));
  const heaters = portfolio.heaters.map((heater) => ({
    ...heater,
    recordedFrom: seenFrom.get(heater.id) ?? heater.installLatest,
  }));
  return [
    ["Property", portfolio.properties],
    ["Building", portfolio.buildings],
    ["Unit", portfolio.units],
    ["WaterTest", portfolio.waterTests],
    ["Heater", heaters],
    ["Retirement", portfolio.retirements],
    ["ReadinessAnswer", portfolio.readinessAnswers],
    ["ServiceVisit", portfolio.serviceVisits],
    ["VisitTask", portfolio.visitTasks],
  ];
}

async function writeTable(
  client: pg.Client,
  organizationId: string,
  table: string,
  rows: readonly Row[],
): Promise<void> {
  const [first] = rows;
  if (!first) return;
  const columns = Object.keys(first);
  const values = function* () {
    for (const row of rows) yield [organizationId, ...columns.map((column) => row[column])];
  };
  await copyRows(client, `"${table}"`, ["organizationId", ...columns], values());
}

async function writePeople(client: pg.Client, organizationId: string): Promise<void> {
  const password = await hashPassword(DEMO_PASSWORD);
  for (const person of DEMO_PEOPLE) {
    const userId = randomUUID();
    await client.query(
      'INSERT INTO "User" (id, name, email, "emailVerified", "updatedAt") VALUES ($1, $2, $3, true, now())',
      [userId, person.name, person.email],
    );
    await client.query(
      `INSERT INTO "Account" (id, "accountId", "providerId", "userId", password, "updatedAt")
       VALUES ($1, $2, 'credential', $2, $3, now())`,
      [randomUUID(), userId, password],
    );
    await client.query(
      'INSERT INTO "Member" (id, "organizationId", "userId", role) VALUES ($1, $2, $3, $4)',
      [randomUUID(), organizationId, userId, person.role],
    );
  }
}
