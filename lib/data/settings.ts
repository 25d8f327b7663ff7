import type pg from "pg";
import type { Answer, DemandLevel } from "@/lib/core/heaters/vocabulary";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";

export type OrganizationRow = {
  readonly id: string;
  readonly name: string;
  readonly isDemo: boolean;
  readonly unitSystem: "us" | "si";
  /** The organisation's own numbers, by section; a section or key that is absent is assumed. */
  readonly settings: Readonly<Record<string, unknown>>;
};

/** The organisation of the transaction; with `forUpdate` nobody else changes it until the end. */
export async function readOrganization(
  client: pg.ClientBase,
  { forUpdate = false } = {},
): Promise<OrganizationRow> {
  const { rows } = await client.query<OrganizationRow>(
    `SELECT id, name, "isDemo", "unitSystem", settings FROM "Organization"
     ${forUpdate ? "FOR UPDATE" : ""}`,
  );
  return rows[0];
}

export async function updateOrganization(
  client: pg.ClientBase,
  organizationId: string,
  { name, unitSystem }: Pick<OrganizationRow, "name" | "unitSystem">,
): Promise<void> {
  await client.query('UPDATE "Organization" SET name = $2, "unitSystem" = $3 WHERE id = $1', [
    organizationId,
    name,
    unitSystem,
  ]);
}

/** Replaces one section of the organisation's own numbers and leaves the others. */
export async function updateSettingsSection(
  client: pg.ClientBase,
  organizationId: string,
  section: string,
  value: unknown,
): Promise<void> {
  await client.query(
    `UPDATE "Organization" SET settings = settings || jsonb_build_object($2::text, $3::jsonb)
     WHERE id = $1`,
    [organizationId, section, JSON.stringify(value)],
  );
}

// ---- properties ----

/** What a person may change of a property. */
export type PropertyFields = {
  readonly name: string;
  readonly street: string | null;
  readonly city: string | null;
  readonly region: string | null;
  readonly postalCode: string | null;
  readonly annualMeanAirF: number;
  readonly airAmplitudeF: number;
  readonly coldestMonth: number;
  readonly waterSource: string | null;
  readonly demandLevel: DemandLevel;
  readonly gasCentsPerTherm: number;
  readonly electricityCentsPerKwh: number;
  readonly gasStandingCentsPerMonth: number;
  readonly gridRegion: string;
};

export type PropertyRow = PropertyFields & { readonly id: string };

export type PropertySummary = PropertyRow & {
  readonly buildings: number;
  readonly heaters: number;
  /** Buildings whose service and headroom are both unknown. */
  readonly unknownBuildings: number;
  readonly lastTestedOn: CalendarDay | null;
  readonly hardnessMgPerLitre: number | null;
};

const PROPERTY_COLUMNS = [
  "name",
  "street",
  "city",
  "region",
  "postalCode",
  "annualMeanAirF",
  "airAmplitudeF",
  "coldestMonth",
  "waterSource",
  "demandLevel",
  "gasCentsPerTherm",
  "electricityCentsPerKwh",
  "gasStandingCentsPerMonth",
  "gridRegion",
] as const satisfies readonly (keyof PropertyFields)[];

const selected = (columns: readonly string[]) =>
  ["id", ...columns].map((column) => `p."${column}"`).join(", ");

/** All properties with what stands on them and their latest water test. */
export async function listProperties(client: pg.ClientBase): Promise<readonly PropertySummary[]> {
  const { rows } = await client.query<PropertySummary>(
    `SELECT ${selected(PROPERTY_COLUMNS)},
       COALESCE(b.buildings, 0) AS buildings, COALESCE(b.unknown, 0) AS "unknownBuildings",
       COALESCE(h.heaters, 0) AS heaters, w."sampledOn" AS "lastTestedOn", w."hardnessMgPerLitre"
     FROM "Property" p
     LEFT JOIN (
       SELECT "propertyId", count(*) AS buildings,
         count(*) FILTER (WHERE "serviceAmps" IS NULL AND "headroomCircuits" IS NULL) AS unknown
       FROM "Building" GROUP BY "propertyId"
     ) b ON b."propertyId" = p.id
     LEFT JOIN (
       SELECT c."propertyId", count(*) AS heaters
       FROM "Heater" g JOIN "Building" c ON c.id = g."buildingId"
       WHERE g.status = 'in-service' GROUP BY c."propertyId"
     ) h ON h."propertyId" = p.id
     LEFT JOIN (
       SELECT DISTINCT ON ("propertyId") "propertyId", "sampledOn", "hardnessMgPerLitre"
       FROM "WaterTest" ORDER BY "propertyId", "sampledOn" DESC
     ) w ON w."propertyId" = p.id
     ORDER BY p.name`,
  );
  return rows;
}

export async function findProperty(
  client: pg.ClientBase,
  propertyId: string,
): Promise<PropertyRow | null> {
  const { rows } = await client.query<PropertyRow>(
    `SELECT ${selected(PROPERTY_COLUMNS)} FROM "Property" p WHERE p.id = $1`,
    [propertyId],
  );
  return rows[0] ?? null;
}

export function updateProperty(
  client: pg.ClientBase,
  propertyId: string,
  fields: PropertyFields,
): Promise<void> {
  return updateRow(client, '"Property"', propertyId, PROPERTY_COLUMNS, fields);
}

async function updateRow<C extends string>(
  client: pg.ClientBase,
  table: string,
  id: string,
  columns: readonly C[],
  fields: Readonly<Record<C, unknown>>,
): Promise<void> {
  const sets = columns.map((column, index) => `"${column}" = $${index + 2}`).join(", ");
  await client.query(`UPDATE ${table} SET ${sets} WHERE id = $1`, [
    id,
    ...columns.map((column) => fields[column]),
  ]);
}

// ---- buildings ----

/** What a person may change of a building. */
export type BuildingFields = {
  readonly name: string;
  readonly builtYear: number | null;
  readonly floors: number | null;
  readonly serviceAmps: number | null;
  readonly serviceVolts: number | null;
  readonly measuredPeakKw: number | null;
  readonly headroomCircuits: number | null;
  readonly upgradeCostCents: number | null;
  readonly upgradeAddsCircuits: number | null;
};

export type BuildingRow = BuildingFields & {
  readonly id: string;
  readonly propertyId: string;
  readonly propertyName: string;
  readonly heaters: number;
};

const BUILDING_COLUMNS = [
  "name",
  "builtYear",
  "floors",
  "serviceAmps",
  "serviceVolts",
  "measuredPeakKw",
  "headroomCircuits",
  "upgradeCostCents",
  "upgradeAddsCircuits",
] as const satisfies readonly (keyof BuildingFields)[];

const BUILDING_QUERY = `SELECT ${selected(BUILDING_COLUMNS)}, p."propertyId", q.name AS "propertyName",
    (SELECT count(*) FROM "Heater" h WHERE h."buildingId" = p.id AND h.status = 'in-service') AS heaters
  FROM "Building" p JOIN "Property" q ON q.id = p."propertyId"`;

export async function listBuildings(
  client: pg.ClientBase,
  propertyId: string,
): Promise<readonly BuildingRow[]> {
  const { rows } = await client.query<BuildingRow>(
    `${BUILDING_QUERY} WHERE p."propertyId" = $1 ORDER BY length(p.name), p.name`,
    [propertyId],
  );
  return rows;
}

export async function findBuilding(
  client: pg.ClientBase,
  buildingId: string,
): Promise<BuildingRow | null> {
  const { rows } = await client.query<BuildingRow>(`${BUILDING_QUERY} WHERE p.id = $1`, [
    buildingId,
  ]);
  return rows[0] ?? null;
}

export function updateBuilding(
  client: pg.ClientBase,
  buildingId: string,
  fields: BuildingFields,
): Promise<void> {
  return updateRow(client, '"Building"', buildingId, BUILDING_COLUMNS, fields);
}

// ---- water ----

export type WaterTestFields = {
  readonly sampledOn: CalendarDay;
  readonly hardnessMgPerLitre: number | null;
  readonly softened: Answer;
  readonly ph: number | null;
  readonly alkalinityMgPerLitre: number | null;
  readonly dissolvedSolidsMgPerLitre: number | null;
  readonly temperatureF: number | null;
  readonly disinfectant: string | null;
};

export type WaterTestRow = WaterTestFields & { readonly id: string };

const WATER_COLUMNS = [
  "sampledOn",
  "hardnessMgPerLitre",
  "softened",
  "ph",
  "alkalinityMgPerLitre",
  "dissolvedSolidsMgPerLitre",
  "temperatureF",
  "disinfectant",
] as const satisfies readonly (keyof WaterTestFields)[];

/** A property's water tests, the latest first. */
export async function listWaterTests(
  client: pg.ClientBase,
  propertyId: string,
): Promise<readonly WaterTestRow[]> {
  const { rows } = await client.query<WaterTestRow>(
    `SELECT ${selected(WATER_COLUMNS)} FROM "WaterTest" p WHERE p."propertyId" = $1
     ORDER BY p."sampledOn" DESC, p.id DESC`,
    [propertyId],
  );
  return rows;
}

export async function insertWaterTest(
  client: pg.ClientBase,
  organizationId: string,
  propertyId: string,
  fields: WaterTestFields,
): Promise<string> {
  const names = WATER_COLUMNS.map((column) => `"${column}"`).join(", ");
  const places = WATER_COLUMNS.map((_, index) => `$${index + 3}`).join(", ");
  const { rows } = await client.query<{ id: string }>(
    `INSERT INTO "WaterTest" (id, "organizationId", "propertyId", ${names})
     VALUES (gen_random_uuid(), $1, $2, ${places}) RETURNING id`,
    [organizationId, propertyId, ...WATER_COLUMNS.map((column) => fields[column])],
  );
  return rows[0].id;
}

/** Takes a water test off the record; what it said is returned, null when there is none. */
export async function deleteWaterTest(
  client: pg.ClientBase,
  propertyId: string,
  testId: string,
): Promise<WaterTestRow | null> {
  const { rows } = await client.query<WaterTestRow>(
    `DELETE FROM "WaterTest" p WHERE p.id = $2 AND p."propertyId" = $1
     RETURNING ${selected(WATER_COLUMNS)}`,
    [propertyId, testId],
  );
  return rows[0] ?? null;
}
