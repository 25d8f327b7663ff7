import type pg from "pg";
import type { PropertyRecord } from "@/lib/core/emissions/property-account";
import type { RefrigerantEvent } from "@/lib/core/emissions/refrigerant-account";
import type { HeaterLife } from "@/lib/core/emissions/service-history";
import { UNKNOWN_PROPERTY_ENERGY } from "@/lib/core/energy/property-energy";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import { loadPropertyEnergy } from "./energy";
import { loadFleet } from "./fleet";
import { listReadings } from "./meters";

/** A property to be accounted for. */
export type AccountProperty = {
  readonly id: string;
  readonly name: string;
  /** Heaters on record, retired ones included: how much work it is. */
  readonly heaters: number;
  readonly homes: number;
};

/** Properties in the order of their names. */
export async function listAccountProperties(
  client: pg.ClientBase,
): Promise<readonly AccountProperty[]> {
  const { rows } = await client.query<AccountProperty>(
    `SELECT p.id, p.name,
       (SELECT count(*) FROM "Heater" h JOIN "Building" b ON b.id = h."buildingId"
        WHERE b."propertyId" = p.id) AS heaters,
       (SELECT count(*) FROM "Unit" u JOIN "Building" b ON b.id = u."buildingId"
        WHERE b."propertyId" = p.id) AS homes
     FROM "Property" p ORDER BY p.name, p.id`,
  );
  return rows;
}

/** Names of buildings by id. */
export async function loadBuildingNames(
  client: pg.ClientBase,
): Promise<ReadonlyMap<string, string>> {
  const { rows } = await client.query<{ id: string; name: string }>(
    'SELECT id, name FROM "Building"',
  );
  return new Map(rows.map(({ id, name }) => [id, name]));
}

/** Buildings of a property by name. */
export async function listBuildingsOf(
  client: pg.ClientBase,
  propertyId: string,
): Promise<readonly { readonly id: string; readonly name: string }[]> {
  const { rows } = await client.query<{ id: string; name: string }>(
    'SELECT id, name FROM "Building" WHERE "propertyId" = $1 ORDER BY name, id',
    [propertyId],
  );
  return rows;
}

type LifeRow = {
  readonly id: string;
  readonly propertyId: string;
  readonly predecessorId: string | null;
  readonly builtYear: number | null;
  readonly earliest: CalendarDay | null;
  readonly latest: CalendarDay | null;
};

/**
 * Everything that the emissions of these properties follow from, with every heater that served on or
 * after `from`. A retired heater without a row of its end is left out: nothing says how long it served.
 */
export async function loadPropertyRecords(
  client: pg.ClientBase,
  propertyIds: readonly string[],
  from: CalendarDay,
): Promise<readonly PropertyRecord[]> {
  const lives = await client.query<LifeRow>(
    `SELECT h.id, b."propertyId", h."predecessorId", b."builtYear", r.earliest, r.latest
     FROM "Heater" h
     JOIN "Building" b ON b.id = h."buildingId"
     LEFT JOIN "Retirement" r ON r."heaterId" = h.id
     WHERE b."propertyId" = ANY ($1) AND (h.status = 'in-service' OR r.latest >= $2)
     ORDER BY h.id`,
    [propertyIds, from],
  );
  const { heaters, sites } = await loadFleet(client, { heaterIds: lives.rows.map(({ id }) => id) });
  const heaterOf = new Map(heaters.map((heater) => [heater.id, heater]));
  const energyOf = await loadPropertyEnergy(client);
  const readingsOf = groupBy(await listReadings(client, propertyIds), (each) => each.propertyId);
  const events = await listRefrigerantEvents(client, propertyIds);
  const eventsOf = groupBy(events, (each) => each.propertyId);
  const livesOf = groupBy(lives.rows, (each) => each.propertyId);
  return propertyIds.flatMap((propertyId): PropertyRecord[] => {
    const site = sites.get(propertyId);
    if (!site) return [];
    return [
      {
        propertyId,
        site,
        energy: energyOf.get(propertyId) ?? UNKNOWN_PROPERTY_ENERGY,
        lives: (livesOf.get(propertyId) ?? []).flatMap((row): HeaterLife[] => {
          const heater = heaterOf.get(row.id);
          if (!heater) return [];
          const { predecessorId, builtYear, earliest, latest } = row;
          const retired = earliest && latest ? { earliest, latest } : null;
          return [{ heater, predecessorId, builtYear, retired }];
        }),
        readings: readingsOf.get(propertyId) ?? [],
        refrigerantLog: eventsOf.get(propertyId) ?? [],
      },
    ];
  });
}

/** The refrigerant log of properties, in the order of its days. */
export async function listRefrigerantEvents(
  client: pg.ClientBase,
  propertyIds: readonly string[],
): Promise<readonly (RefrigerantEvent & { readonly propertyId: string })[]> {
  const { rows } = await client.query<RefrigerantEvent & { propertyId: string }>(
    `SELECT e."heaterId", e.kind, e.refrigerant, e.kg, e."happenedOn" AS day, b."propertyId"
     FROM "RefrigerantEvent" e
     JOIN "Heater" h ON h.id = e."heaterId"
     JOIN "Building" b ON b.id = h."buildingId"
     WHERE b."propertyId" = ANY ($1) ORDER BY e."happenedOn", e.id`,
    [propertyIds],
  );
  return rows;
}

/**
 * A mark of the state of everything that an account is made from: two equal marks mean that nothing
 * has been added, changed or taken out in between.
 */
export async function readRecordStamp(client: pg.ClientBase): Promise<string> {
  const parts = STAMPED.map(
    ([table, column]) =>
      `(SELECT count(*) || '@' || COALESCE(max("${column}")::text, '') FROM "${table}")`,
  );
  const { rows } = await client.query<{ stamp: string }>(
    `SELECT concat_ws(' ', ${parts.join(", ")},
       (SELECT count(*) FROM "EmissionFactor" WHERE "withdrawnAt" IS NOT NULL),
       (SELECT count(*) FROM "AuditEntry" WHERE entity IN ('Property', 'Building', 'Unit'))) AS stamp`,
  );
  return rows[0]?.stamp ?? "";
}

/** Tables and the column that says when a row was last written. */
const STAMPED = [
  ["Heater", "updatedAt"],
  ["Retirement", "createdAt"],
  ["VisitTask", "doneOn"],
  ["WaterTest", "sampledOn"],
  ["PropertyEnergy", "updatedAt"],
  ["MeterReading", "createdAt"],
  ["EmissionFactor", "createdAt"],
  ["EnergyInstrument", "createdAt"],
  ["EmissionsTerms", "updatedAt"],
  ["PropertyPolicy", "createdAt"],
  ["RefrigerantEvent", "createdAt"],
] as const;

function groupBy<T>(
  values: readonly T[],
  keyOf: (value: T) => string,
): ReadonlyMap<string, readonly T[]> {
  const groups = new Map<string, T[]>();
  for (const value of values) {
    const key = keyOf(value);
    const group = groups.get(key);
    if (group) group.push(value);
    else groups.set(key, [value]);
  }
  return groups;
}
