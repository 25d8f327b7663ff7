import { randomUUID } from "node:crypto";
import { hashPassword } from "better-auth/crypto";
import type pg from "pg";
import { type CalendarDay, dayFromParts } from "@/lib/core/shared/calendar-day";
import { type CopyValue, copyRows } from "@/lib/data/bulk";
import { loadPropertyRecords } from "@/lib/data/emissions-record";
import { createPool } from "@/lib/data/pool";
import { demoBaseYear, makeInstruments, makePolicies, makeTerms } from "./emissions-rules";
import { generateDemo } from "./generate";
import { makeIds } from "./ids";
import { hasReadings, makeEnergy, makeReadings } from "./meters";
import { DEMO_NAME, DEMO_PASSWORD, DEMO_PEOPLE } from "./people";
import { DemoRandom } from "./random";
import type { DemoPortfolio } from "./rows";

export type WriteDemoOptions = {
  readonly seed: number;
  readonly today: CalendarDay;
  readonly heaters?: number;
  /** The demo's own sign-ins are made unless this is false. */
  readonly people?: boolean;
  /** Meters, readings, contracts and rules of the emissions account are made unless this is false. */
  readonly emissions?: boolean;
};

/**
 * Writes the invented portfolio as one organisation, in one transaction, as the database's owner.
 * @returns the organisation's id.
 */
export async function writeDemo(ownerUrl: string, options: WriteDemoOptions): Promise<string> {
  const portfolio = generateDemo(options);
  const pool = createPool(ownerUrl, 1);
  const client = await pool.connect();
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
    if (options.emissions !== false) {
      await writeEmissions(client, organizationId, portfolio, options);
    }
    await client.query("COMMIT");
    await client.query("ANALYZE");
    return organizationId;
  } finally {
    client.release();
    await pool.end();
  }
}

/**
 * Meters, their readings, contracts and the rules of the account. Readings follow from the model of
 * the heaters as they stand on record, so they are made from what has been written.
 */
async function writeEmissions(
  client: pg.ClientBase,
  organizationId: string,
  { properties }: DemoPortfolio,
  { seed, today }: WriteDemoOptions,
): Promise<void> {
  // A stream of its own: every other draw stays what it is without it.
  const random = new DemoRandom(seed ^ 0x3e7e25);
  const ids = makeIds(seed);
  const write = (table: string, rows: readonly Row[]) =>
    writeTable(client, organizationId, table, rows);
  await write(
    "PropertyEnergy",
    properties.map(({ id }, index) => ({
      propertyId: id,
      terms: makeEnergy(random, index, today),
    })),
  );
  const indexOf = new Map(
    properties.flatMap(({ id }, index) => (hasReadings(index) ? [[id, index] as const] : [])),
  );
  const from = dayFromParts(demoBaseYear(today), 1, 1);
  for (const record of await loadPropertyRecords(client, [...indexOf.keys()], from)) {
    const index = indexOf.get(record.propertyId) ?? 0;
    await write("MeterReading", makeReadings(random, ids.meterReading, record, { index, today }));
  }
  await write("EnergyInstrument", makeInstruments(ids, properties, today));
  await write("PropertyPolicy", makePolicies(ids, properties, today));
  await write("EmissionsTerms", [{ terms: makeTerms(today) }]);
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
  client: pg.ClientBase,
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

async function writePeople(client: pg.ClientBase, organizationId: string): Promise<void> {
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
