import type pg from "pg";
import type { Instrument, InstrumentKind } from "@/lib/core/emissions/market-instruments";

/** A contract about electricity as it was entered. */
export type InstrumentRecord = {
  readonly id: string;
  readonly kind: InstrumentKind;
  readonly name: string;
  readonly propertyId: string | null;
  readonly propertyName: string | null;
  /** One of the two is given. */
  readonly coversKwh: number | null;
  readonly coversShare: number | null;
  readonly kgCo2ePerKwh: number;
  readonly vintage: number;
  readonly market: string;
  readonly conveysRate: boolean;
  readonly soleClaim: boolean;
  readonly retired: boolean;
  readonly firstYear: number;
  readonly lastYear: number;
  readonly source: string;
};

/** Instruments used for a year, or all, in the order of their years. */
export async function listInstruments(
  client: pg.ClientBase,
  year: number | null = null,
): Promise<readonly InstrumentRecord[]> {
  const { rows } = await client.query<InstrumentRecord>(
    `SELECT i.id, i.kind, i.name, i."propertyId", p.name AS "propertyName", i."coversKwh",
       i."coversShare", i."kgCo2ePerKwh", i.vintage, i.market, i."conveysRate", i."soleClaim",
       i.retired, i."firstYear", i."lastYear", i.source
     FROM "EnergyInstrument" i LEFT JOIN "Property" p ON p.id = i."propertyId"
     WHERE $1::int IS NULL OR $1 BETWEEN i."firstYear" AND i."lastYear"
     ORDER BY i."firstYear" DESC, i.kind, i.name, i.id`,
    [year],
  );
  return rows;
}

/** An instrument as the core lays it over electricity. */
export function instrumentOf(record: InstrumentRecord): Instrument {
  return {
    id: record.name,
    kind: record.kind,
    covers:
      record.coversKwh === null ? { share: record.coversShare ?? 0 } : { kwh: record.coversKwh },
    kgCo2ePerKwh: record.kgCo2ePerKwh,
    vintage: record.vintage,
    market: record.market,
    conveysRate: record.conveysRate,
    soleClaim: record.soleClaim,
    retired: record.retired,
    source: record.source,
    place: record.propertyId,
  };
}

export type NewInstrument = Omit<InstrumentRecord, "id" | "propertyName">;

export async function insertInstrument(
  client: pg.ClientBase,
  organizationId: string,
  instrument: NewInstrument,
  enteredBy: string,
): Promise<string> {
  const { rows } = await client.query<{ id: string }>(
    `INSERT INTO "EnergyInstrument" (id, "organizationId", kind, name, "propertyId", "coversKwh",
       "coversShare", "kgCo2ePerKwh", vintage, market, "conveysRate", "soleClaim", retired,
       "firstYear", "lastYear", source, "enteredBy")
     VALUES (gen_random_uuid(), $1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16)
     RETURNING id`,
    [
      organizationId,
      instrument.kind,
      instrument.name,
      instrument.propertyId,
      instrument.coversKwh,
      instrument.coversShare,
      instrument.kgCo2ePerKwh,
      instrument.vintage,
      instrument.market,
      instrument.conveysRate,
      instrument.soleClaim,
      instrument.retired,
      instrument.firstYear,
      instrument.lastYear,
      instrument.source,
      enteredBy,
    ],
  );
  return (rows[0] as { id: string }).id;
}

/** Takes an instrument out; gives what it was, or null when there is none. */
export async function deleteInstrument(
  client: pg.ClientBase,
  id: string,
): Promise<Readonly<Record<string, unknown>> | null> {
  const { rows } = await client.query('DELETE FROM "EnergyInstrument" WHERE id = $1 RETURNING *', [
    id,
  ]);
  return rows[0] ?? null;
}
