import type pg from "pg";
import type { WaterFacts } from "@/lib/core/exchange/import-batch";
import type {
  HeaterFacts,
  HomeFacts,
  RecordOnFile,
  RetirementFacts,
} from "@/lib/core/exchange/record-facts";
import type { Answer } from "@/lib/core/heaters/vocabulary";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import type { CopyValue } from "./bulk";
import { assignColumns, listColumns, writeThroughStage } from "./import-stage";

/** What an import reads of the record, and the statements, one for many rows, by which it writes. */

export type KnownTag = { readonly id: string; readonly tag: string };
export type KnownProperty = { readonly id: string; readonly name: string };
export type KnownBuilding = {
  readonly id: string;
  readonly propertyId: string;
  readonly name: string;
  readonly builtYear: number | null;
};
export type KnownUnit = {
  readonly id: string;
  readonly buildingId: string;
  readonly label: string;
  readonly home: HomeFacts;
  /** Heaters in service in this home. */
  readonly inService: number;
};

/** A heater as it stands, with what writing it needs. */
export type KnownHeater = RecordOnFile & {
  readonly id: string;
  readonly tag: string;
  readonly version: number;
  readonly buildingId: string;
  readonly builtYear: number | null;
  readonly unitId: string | null;
};

export async function loadTags(client: pg.ClientBase): Promise<readonly KnownTag[]> {
  const { rows } = await client.query<KnownTag>('SELECT id, tag FROM "Heater" ORDER BY id');
  return rows;
}

export async function loadPlaces(client: pg.ClientBase): Promise<{
  readonly properties: readonly KnownProperty[];
  readonly buildings: readonly KnownBuilding[];
}> {
  const properties = await client.query<KnownProperty>(
    'SELECT id, name FROM "Property" ORDER BY id',
  );
  const buildings = await client.query<KnownBuilding>(
    'SELECT id, "propertyId", name, "builtYear" FROM "Building" ORDER BY id',
  );
  return { properties: properties.rows, buildings: buildings.rows };
}

export async function loadUnits(
  client: pg.ClientBase,
  buildingIds: readonly string[],
): Promise<readonly KnownUnit[]> {
  if (buildingIds.length === 0) return [];
  const { rows } = await client.query<Omit<KnownUnit, "home"> & HomeFacts>(
    `SELECT u.id, u."buildingId", u.label, u.floor, u.riser, u.bedrooms, u.bathrooms, u.occupants,
       (SELECT count(*) FROM "Heater" h WHERE h."unitId" = u.id AND h.status = 'in-service') AS "inService"
     FROM "Unit" u WHERE u."buildingId" = ANY ($1) ORDER BY u.id`,
    [buildingIds],
  );
  return rows.map(({ id, buildingId, label, inService, ...home }) => ({
    id,
    buildingId,
    label,
    inService,
    home,
  }));
}

/** The columns of a heater's own row that an import writes, in the order in which they are copied. */
const FACT_TYPES: Readonly<Record<keyof HeaterFacts, string>> = {
  technology: "text",
  fuel: "text",
  status: "text",
  installEarliest: "date",
  installLatest: "date",
  installEvidence: "text",
  manufacturer: "text",
  model: "text",
  serial: "text",
  volumeGal: "float8",
  inputBtuPerHour: "float8",
  inputWatts: "float8",
  uniformEnergyFactor: "float8",
  firstHourGal: "float8",
  place: "text",
  overFinishedSpace: "text",
  drainPan: "text",
  leakShutoff: "text",
  closedSystem: "text",
  expansionControl: "text",
  mixingValve: "text",
  setpointF: "float8",
  warrantyYears: "float8",
  homesServed: "int",
  notes: "text",
};
export const FACT_COLUMNS = Object.keys(FACT_TYPES) as readonly (keyof HeaterFacts)[];

type HeaterRow = HeaterFacts & {
  readonly id: string;
  readonly tag: string;
  readonly version: number;
  readonly buildingId: string;
  readonly unitId: string | null;
  readonly property: string;
  readonly building: string;
  readonly builtYear: number | null;
  readonly unit: string | null;
  readonly retiredEarliest: CalendarDay | null;
  readonly retiredLatest: CalendarDay | null;
  readonly cause: RetirementFacts["cause"] | null;
  readonly lastFlush: CalendarDay | null;
  readonly lastAnodeReplacement: CalendarDay | null;
};

/** Heaters as they stand now, by id. */
export async function loadHeatersOnRecord(
  client: pg.ClientBase,
  ids: readonly string[],
): Promise<ReadonlyMap<string, KnownHeater>> {
  if (ids.length === 0) return new Map();
  const lastDone = (task: string) =>
    `(SELECT max(t."doneOn") FROM "VisitTask" t WHERE t."heaterId" = h.id AND t.task = '${task}')`;
  const { rows } = await client.query<HeaterRow>(
    `SELECT h.id, h.tag, h.version, h."buildingId", h."unitId", ${FACT_COLUMNS.map((column) => `h."${column}"`).join(", ")},
       p.name AS property, b.name AS building, b."builtYear", u.label AS unit,
       r.earliest AS "retiredEarliest", r.latest AS "retiredLatest", r.cause,
       ${lastDone("flush")} AS "lastFlush", ${lastDone("anode-replacement")} AS "lastAnodeReplacement"
     FROM "Heater" h
     JOIN "Building" b ON b.id = h."buildingId"
     JOIN "Property" p ON p.id = b."propertyId"
     LEFT JOIN "Unit" u ON u.id = h."unitId"
     LEFT JOIN "Retirement" r ON r."heaterId" = h.id
     WHERE h.id = ANY ($1)`,
    [ids],
  );
  return new Map(rows.map((row) => [row.id, knownHeater(row)]));
}

function knownHeater(row: HeaterRow): KnownHeater {
  const { property, building, unit, retiredEarliest, retiredLatest, cause } = row;
  const facts = Object.fromEntries(FACT_COLUMNS.map((column) => [column, row[column]]));
  return {
    id: row.id,
    tag: row.tag,
    version: row.version,
    buildingId: row.buildingId,
    builtYear: row.builtYear,
    unitId: row.unitId,
    facts: facts as HeaterFacts,
    at: { property, building, unit },
    retirement:
      retiredEarliest && retiredLatest && cause
        ? { earliest: retiredEarliest, latest: retiredLatest, cause }
        : null,
    lastFlush: row.lastFlush,
    lastAnodeReplacement: row.lastAnodeReplacement,
  };
}

/** The latest water test of each property. */
export async function loadWaters(client: pg.ClientBase): Promise<ReadonlyMap<string, WaterFacts>> {
  const { rows } = await client.query<
    WaterFacts & { readonly propertyId: string; readonly softened: Answer }
  >(
    `SELECT DISTINCT ON ("propertyId") "propertyId", "hardnessMgPerLitre", softened
     FROM "WaterTest" ORDER BY "propertyId", "sampledOn" DESC`,
  );
  return new Map(
    rows.map(({ propertyId, hardnessMgPerLitre, softened }) => [
      propertyId,
      { hardnessMgPerLitre, softened },
    ]),
  );
}

// ---- writing ----

/** Somebody else changed a heater between its reading and its writing: nothing may be overwritten. */
export class ImportConflict extends Error {
  constructor() {
    super("a heater was changed while the file was being brought in");
    this.name = "ImportConflict";
  }
}

/** True for an error that says that somebody else has written what this transaction would write. */
export function isImportConflict(error: unknown): boolean {
  const UNIQUE_VIOLATION = "23505";
  return (
    error instanceof ImportConflict ||
    (error instanceof Error && (error as { code?: unknown }).code === UNIQUE_VIOLATION)
  );
}

export type NewUnit = {
  readonly id: string;
  readonly buildingId: string;
  readonly label: string;
  readonly home: HomeFacts;
};

export type HeaterWrite = {
  readonly id: string;
  readonly tag: string;
  /** Version on record, which must still be the same; 0 for a new heater. */
  readonly version: number;
  readonly buildingId: string;
  readonly unitId: string | null;
  readonly facts: HeaterFacts;
};

export type RetirementWrite = RetirementFacts & {
  readonly heaterId: string;
  readonly emergency: boolean;
};

export type CareWrite = {
  readonly visitId: string;
  readonly heaterId: string;
  readonly day: CalendarDay;
  readonly tasks: readonly ("flush" | "anode-replacement")[];
};

export type HomeWrite = { readonly unitId: string; readonly home: HomeFacts };

export type WaterWrite = WaterFacts & { readonly propertyId: string };

/** Whose rows are written, by which batch, with which note beside what it adds to the history. */
export type ImportStamp = {
  readonly organizationId: string;
  readonly batchId: string;
  readonly userId: string;
  readonly fileName: string;
  readonly today: CalendarDay;
  /** Day since when ends of service are on record for the new heaters. */
  readonly recordedFrom: CalendarDay;
};

const HOME_TYPES: Readonly<Record<keyof HomeFacts, string>> = {
  floor: "int",
  riser: "text",
  bedrooms: "int",
  bathrooms: "float8",
  occupants: "int",
};
const HOME_COLUMNS = Object.keys(HOME_TYPES) as readonly (keyof HomeFacts)[];

export async function insertProperties(
  client: pg.ClientBase,
  { organizationId, batchId }: ImportStamp,
  properties: readonly KnownProperty[],
): Promise<void> {
  if (properties.length === 0) return;
  await client.query(
    `INSERT INTO "Property" (id, "organizationId", name, "importBatchId")
     SELECT id, $1, name, $2 FROM unnest($3::uuid[], $4::text[]) AS n(id, name)`,
    [organizationId, batchId, properties.map(({ id }) => id), properties.map(({ name }) => name)],
  );
}

export async function insertBuildings(
  client: pg.ClientBase,
  { organizationId, batchId }: ImportStamp,
  buildings: readonly Omit<KnownBuilding, "builtYear">[],
): Promise<void> {
  if (buildings.length === 0) return;
  await client.query(
    `INSERT INTO "Building" (id, "organizationId", "propertyId", name, "importBatchId")
     SELECT id, $1, property, name, $2
     FROM unnest($3::uuid[], $4::uuid[], $5::text[]) AS n(id, property, name)`,
    [
      organizationId,
      batchId,
      buildings.map(({ id }) => id),
      buildings.map(({ propertyId }) => propertyId),
      buildings.map(({ name }) => name),
    ],
  );
}

export async function insertUnits(
  client: pg.ClientBase,
  { organizationId, batchId }: ImportStamp,
  units: readonly NewUnit[],
): Promise<void> {
  if (units.length === 0) return;
  const own = ["id", "buildingId", "label", ...HOME_COLUMNS];
  await writeThroughStage(
    client,
    "import_unit",
    { id: "uuid", buildingId: "uuid", label: "text", ...HOME_TYPES },
    mapRows(units, ({ id, buildingId, label, home }) => [
      id,
      buildingId,
      label,
      ...HOME_COLUMNS.map((column) => home[column]),
    ]),
    [
      [
        `INSERT INTO "Unit" ("organizationId", "importBatchId", ${listColumns(own)})
         SELECT $1, $2, ${listColumns(own)} FROM import_unit`,
        [organizationId, batchId],
      ],
    ],
  );
}

/** Homes on record with what the rows say of them. */
export async function updateHomes(
  client: pg.ClientBase,
  homes: readonly HomeWrite[],
): Promise<void> {
  if (homes.length === 0) return;
  await writeThroughStage(
    client,
    "import_home",
    { id: "uuid", ...HOME_TYPES },
    mapRows(homes, ({ unitId, home }) => [unitId, ...HOME_COLUMNS.map((column) => home[column])]),
    [
      [
        `UPDATE "Unit" u SET ${assignColumns(HOME_COLUMNS)} FROM import_home s WHERE u.id = s.id`,
        [],
      ],
    ],
  );
}

const HEATER_STAGE = {
  id: "uuid",
  version: "int",
  tag: "text",
  buildingId: "uuid",
  unitId: "uuid",
  ...FACT_TYPES,
};

function heaterRow(heater: HeaterWrite): readonly CopyValue[] {
  const { id, version, tag, buildingId, unitId, facts } = heater;
  return [id, version, tag, buildingId, unitId, ...FACT_COLUMNS.map((column) => facts[column])];
}

export async function insertHeaters(
  client: pg.ClientBase,
  { organizationId, batchId, recordedFrom }: ImportStamp,
  heaters: readonly HeaterWrite[],
): Promise<void> {
  if (heaters.length === 0) return;
  const own = ["id", "tag", "buildingId", "unitId", ...FACT_COLUMNS];
  await writeThroughStage(client, "import_heater", HEATER_STAGE, mapRows(heaters, heaterRow), [
    [
      `INSERT INTO "Heater" ("organizationId", "importBatchId", "recordedFrom", ${listColumns(own)})
       SELECT $1, $2, $3, ${listColumns(own)} FROM import_heater`,
      [organizationId, batchId, recordedFrom],
    ],
  ]);
}

/**
 * Heaters on record with what the rows say of them, each only if it is still of the version that was
 * read.
 * @returns the number of heaters written
 */
export async function updateHeaters(
  client: pg.ClientBase,
  heaters: readonly HeaterWrite[],
): Promise<number> {
  if (heaters.length === 0) return 0;
  const own = ["buildingId", "unitId", ...FACT_COLUMNS];
  const [written] = await writeThroughStage(
    client,
    "import_heater",
    HEATER_STAGE,
    mapRows(heaters, heaterRow),
    [
      [
        `UPDATE "Heater" h SET ${assignColumns(own)}, version = h.version + 1, "updatedAt" = now()
         FROM import_heater s WHERE h.id = s.id AND h.version = s.version`,
        [],
      ],
    ],
  );
  return written;
}

/** Ends of service: new ones, and other days or causes of those on record. */
export async function writeRetirements(
  client: pg.ClientBase,
  { organizationId, batchId }: ImportStamp,
  retirements: readonly RetirementWrite[],
): Promise<void> {
  if (retirements.length === 0) return;
  await writeThroughStage(
    client,
    "import_retirement",
    { heaterId: "uuid", earliest: "date", latest: "date", cause: "text", emergency: "boolean" },
    mapRows(retirements, ({ heaterId, earliest, latest, cause, emergency }) => [
      heaterId,
      earliest,
      latest,
      cause,
      emergency,
    ]),
    [
      [
        `INSERT INTO "Retirement"
           (id, "organizationId", "importBatchId", "heaterId", earliest, latest, cause, emergency)
         SELECT gen_random_uuid(), $1, $2, "heaterId", earliest, latest, cause, emergency
         FROM import_retirement
         ON CONFLICT ("heaterId") DO UPDATE SET
           earliest = EXCLUDED.earliest, latest = EXCLUDED.latest, cause = EXCLUDED.cause`,
        [organizationId, batchId],
      ],
    ],
  );
}

/** Days of care as visits of which nothing else is known. */
export async function insertCare(
  client: pg.ClientBase,
  { organizationId, batchId, fileName }: ImportStamp,
  care: readonly CareWrite[],
): Promise<void> {
  if (care.length === 0) return;
  await writeThroughStage(
    client,
    "import_care",
    { visitId: "uuid", heaterId: "uuid", day: "date", task: "text" },
    careRows(care),
    [
      [
        `INSERT INTO "ServiceVisit"
           (id, "organizationId", "importBatchId", "heaterId", "visitedOn", note)
         SELECT DISTINCT "visitId", $1::uuid, $2::uuid, "heaterId", day, $3::text FROM import_care`,
        [organizationId, batchId, `From ${fileName}`],
      ],
      [
        `INSERT INTO "VisitTask" (id, "organizationId", "visitId", "heaterId", task, "doneOn")
         SELECT gen_random_uuid(), $1, "visitId", "heaterId", task, day FROM import_care`,
        [organizationId],
      ],
    ],
  );
}

function* careRows(care: readonly CareWrite[]): Generator<readonly CopyValue[]> {
  for (const { visitId, heaterId, day, tasks } of care) {
    for (const task of tasks) yield [visitId, heaterId, day, task];
  }
}

/**
 * A property's water as a test of today. What the file leaves open is taken over from the test before
 * it; a test that was entered today already is corrected instead.
 * @returns the id of the corrected test, by property
 */
export async function writeWaters(
  client: pg.ClientBase,
  { organizationId, batchId, today }: ImportStamp,
  waters: readonly WaterWrite[],
): Promise<ReadonlyMap<string, string>> {
  const corrected = new Map<string, string>();
  for (const { propertyId, hardnessMgPerLitre, softened } of waters) {
    const update = await client.query<{ id: string }>(
      `UPDATE "WaterTest" SET "hardnessMgPerLitre" = $3, softened = $4
       WHERE id = (SELECT id FROM "WaterTest" WHERE "propertyId" = $1 AND "sampledOn" = $2
         ORDER BY id DESC LIMIT 1)
       RETURNING id`,
      [propertyId, today, hardnessMgPerLitre, softened],
    );
    const [updated] = update.rows;
    if (updated) {
      corrected.set(propertyId, updated.id);
      continue;
    }
    await client.query(
      `INSERT INTO "WaterTest" (id, "organizationId", "importBatchId", "propertyId", "sampledOn",
         "hardnessMgPerLitre", softened, ph, "alkalinityMgPerLitre", "dissolvedSolidsMgPerLitre",
         "temperatureF", disinfectant)
       SELECT gen_random_uuid(), $1, $2, $3, $4, $5, $6, w.ph, w."alkalinityMgPerLitre",
         w."dissolvedSolidsMgPerLitre", w."temperatureF", w.disinfectant
       FROM (SELECT) one LEFT JOIN LATERAL (
         SELECT * FROM "WaterTest" WHERE "propertyId" = $3 ORDER BY "sampledOn" DESC LIMIT 1
       ) w ON true`,
      [organizationId, batchId, propertyId, today, hardnessMgPerLitre, softened],
    );
  }
  return corrected;
}

/**
 * Lines of the log for the heaters that a batch changed, from its notes.
 * @param action "heater.import"; "heater.import-undo" tells the same change the other way round
 * @param where further condition on the notes `r`
 */
export async function logHeaterChanges(
  client: pg.ClientBase,
  { organizationId, batchId, userId }: Pick<ImportStamp, "organizationId" | "batchId" | "userId">,
  action: "heater.import" | "heater.import-undo" = "heater.import",
  where = "true",
): Promise<void> {
  const [before, after] = action === "heater.import" ? ["before", "after"] : ["after", "before"];
  await client.query(
    `INSERT INTO "AuditEntry" (id, "organizationId", "userId", action, entity, "entityId", before, after)
     SELECT gen_random_uuid(), $1, $3, $4, 'Heater', r."heaterId"::text, t.tag || c.before, t.tag || c.after
     FROM "ImportRow" r
     CROSS JOIN LATERAL (
       SELECT jsonb_object_agg(e ->> 'field', e -> '${before}') AS before,
         jsonb_object_agg(e ->> 'field', e -> '${after}') AS after
       FROM jsonb_array_elements(r.changes) e
     ) c
     CROSS JOIN LATERAL (SELECT jsonb_build_object('tag', r.tag) AS tag) t
     WHERE r."batchId" = $2 AND r.verdict = 'change' AND ${where}`,
    [organizationId, batchId, userId, action],
  );
}

function* mapRows<T>(
  items: readonly T[],
  rowOf: (item: T) => readonly CopyValue[],
): Generator<readonly CopyValue[]> {
  for (const item of items) yield rowOf(item);
}
