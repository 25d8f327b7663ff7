import type pg from "pg";
import {
  type PropertyEnergy,
  propertyEnergySchema,
  UNKNOWN_PROPERTY_ENERGY,
} from "@/lib/core/energy/property-energy";

/**
 * What is on record about the energy of properties: meters, tariffs, heating, occupancy. Every
 * property has an entry; one without a row has {@link UNKNOWN_PROPERTY_ENERGY}.
 */
export async function loadPropertyEnergy(
  client: pg.ClientBase,
): Promise<ReadonlyMap<string, PropertyEnergy>> {
  const { rows } = await client.query<{ id: string; terms: unknown }>(
    `SELECT p.id, e.terms FROM "Property" p
     LEFT JOIN "PropertyEnergy" e ON e."propertyId" = p.id`,
  );
  return new Map(rows.map(({ id, terms }) => [id, energyOf(terms)]));
}

export type PropertyEnergyRecord = {
  readonly energy: PropertyEnergy;
  /** Raised by every change; 0 before the first. */
  readonly version: number;
};

/** One property's energy record; null when there is no such property. */
export async function findPropertyEnergy(
  client: pg.ClientBase,
  propertyId: string,
): Promise<PropertyEnergyRecord | null> {
  const { rows } = await client.query<{ terms: unknown; version: number | null }>(
    `SELECT e.terms, e.version FROM "Property" p
     LEFT JOIN "PropertyEnergy" e ON e."propertyId" = p.id WHERE p.id = $1`,
    [propertyId],
  );
  const [row] = rows;
  return row ? { energy: energyOf(row.terms), version: row.version ?? 0 } : null;
}

/** @returns false when the record has changed since `version` was read: nothing is written then. */
export async function writePropertyEnergy(
  client: pg.ClientBase,
  organizationId: string,
  propertyId: string,
  change: { readonly energy: PropertyEnergy; readonly version: number; readonly updatedBy: string },
): Promise<boolean> {
  const { rowCount } = await client.query(
    `INSERT INTO "PropertyEnergy" ("propertyId", "organizationId", terms, "updatedBy")
     SELECT $1, $2, $3, $5 WHERE $4 = 0 OR EXISTS (SELECT FROM "PropertyEnergy" WHERE "propertyId" = $1)
     ON CONFLICT ("propertyId") DO UPDATE
       SET terms = EXCLUDED.terms, version = "PropertyEnergy".version + 1, "updatedAt" = now(),
           "updatedBy" = EXCLUDED."updatedBy"
       WHERE "PropertyEnergy".version = $4`,
    [propertyId, organizationId, JSON.stringify(change.energy), change.version, change.updatedBy],
  );
  return rowCount === 1;
}

/** Later fields of the record stand at their unknown value in rows written before them. */
function energyOf(terms: unknown): PropertyEnergy {
  if (terms === null || terms === undefined) return UNKNOWN_PROPERTY_ENERGY;
  return propertyEnergySchema.parse({ ...UNKNOWN_PROPERTY_ENERGY, ...(terms as object) });
}
