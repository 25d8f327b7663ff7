import type pg from "pg";
import { type BuildingPlant, buildingPlantSchema } from "@/lib/core/heaters/building-plant";
import type { BuildingElectrical } from "@/lib/core/heaters/electrical-building";

/** A building with what is on record of its electrical service. */
export type SiteBuilding = {
  readonly id: string;
  readonly name: string;
  readonly propertyId: string;
  readonly propertyName: string;
  readonly street: string | null;
  readonly city: string | null;
  readonly floors: number | null;
  readonly serviceAmps: number | null;
  readonly serviceVolts: number | null;
  readonly measuredPeakKw: number | null;
  readonly headroomCircuits: number | null;
  readonly upgradeCostCents: number | null;
  readonly upgradeAddsCircuits: number | null;
  /** How the headroom was worked out, as stored; null where it never was. */
  readonly electrical: unknown;
  /** Its central plant, as stored; null where none was worked out. */
  readonly plant: unknown;
  readonly homes: number;
  readonly heaters: number;
};

const BUILDINGS = `SELECT b.id, b.name, p.id AS "propertyId", p.name AS "propertyName", p.street, p.city,
    b.floors, b."serviceAmps", b."serviceVolts", b."measuredPeakKw", b."headroomCircuits",
    b."upgradeCostCents", b."upgradeAddsCircuits", b.electrical, b.plant,
    (SELECT count(*) FROM "Unit" u WHERE u."buildingId" = b.id) AS homes,
    (SELECT count(*) FROM "Heater" h WHERE h."buildingId" = b.id AND h.status = 'in-service') AS heaters
  FROM "Building" b JOIN "Property" p ON p.id = b."propertyId"`;

/** Buildings of one property or of all, in the order of their names. */
export async function listSiteBuildings(
  client: pg.ClientBase,
  propertyId: string | null,
): Promise<readonly SiteBuilding[]> {
  const { rows } = await client.query<SiteBuilding>(
    `${BUILDINGS} WHERE $1::uuid IS NULL OR p.id = $1 ORDER BY p.name, length(b.name), b.name`,
    [propertyId],
  );
  return rows;
}

/** `lock` keeps it until the end of the transaction. */
export async function findSiteBuilding(
  client: pg.ClientBase,
  id: string,
  { lock = false }: { readonly lock?: boolean } = {},
): Promise<SiteBuilding | null> {
  const { rows } = await client.query<SiteBuilding>(
    `${BUILDINGS} WHERE b.id = $1 ${lock ? "FOR UPDATE OF b" : ""}`,
    [id],
  );
  return rows[0] ?? null;
}

/** Heaters in service of a building, in the order of their homes. */
export async function listHeaterIdsOfBuilding(
  client: pg.ClientBase,
  buildingId: string,
): Promise<readonly string[]> {
  const { rows } = await client.query<{ id: string }>(
    `SELECT h.id FROM "Heater" h LEFT JOIN "Unit" u ON u.id = h."unitId"
     WHERE h."buildingId" = $1 AND h.status = 'in-service'
     ORDER BY u.floor NULLS LAST, length(u.label), u.label NULLS FIRST, h.tag`,
    [buildingId],
  );
  return rows.map(({ id }) => id);
}

/** What the headroom screen may change of a building. */
export type BuildingElectrics = {
  readonly serviceAmps: number | null;
  readonly serviceVolts: number | null;
  readonly measuredPeakKw: number | null;
  readonly headroomCircuits: number | null;
  readonly upgradeCostCents: number | null;
  readonly upgradeAddsCircuits: number | null;
  readonly electrical: BuildingElectrical;
};

export async function updateElectrics(
  client: pg.ClientBase,
  buildingId: string,
  electrics: BuildingElectrics,
): Promise<void> {
  await client.query(
    `UPDATE "Building" SET "serviceAmps" = $2, "serviceVolts" = $3, "measuredPeakKw" = $4,
       "headroomCircuits" = $5, "upgradeCostCents" = $6, "upgradeAddsCircuits" = $7, electrical = $8
     WHERE id = $1`,
    [
      buildingId,
      electrics.serviceAmps,
      electrics.serviceVolts,
      electrics.measuredPeakKw,
      electrics.headroomCircuits,
      electrics.upgradeCostCents,
      electrics.upgradeAddsCircuits,
      JSON.stringify(electrics.electrical),
    ],
  );
}

export async function updatePlant(
  client: pg.ClientBase,
  buildingId: string,
  plant: BuildingPlant,
): Promise<void> {
  await client.query(`UPDATE "Building" SET plant = $2 WHERE id = $1`, [
    buildingId,
    JSON.stringify(plant),
  ]);
}

/** The central plants on record, by building. */
export async function listPlants(
  client: pg.ClientBase,
): Promise<ReadonlyMap<string, BuildingPlant>> {
  const { rows } = await client.query<{ id: string; plant: unknown }>(
    `SELECT id, plant FROM "Building" WHERE plant IS NOT NULL ORDER BY id`,
  );
  return new Map(rows.map(({ id, plant }) => [id, buildingPlantSchema.parse(plant)]));
}

/**
 * Failures expected within 12 months over all heaters under each draw of the risk model, from the last
 * pass over the fleet; empty before there was one.
 */
export async function readExpectedDraws(client: pg.ClientBase): Promise<readonly number[]> {
  const { rows } = await client.query<{ draws: readonly number[] }>(
    `SELECT draws FROM "RiskYear"
     WHERE "propertyId" IS NULL AND kind = 'ahead' ORDER BY year LIMIT 1`,
  );
  return rows[0]?.draws ?? [];
}
