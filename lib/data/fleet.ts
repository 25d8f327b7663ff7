import type pg from "pg";
import type { Heater, Site } from "@/lib/core/heaters/heater";
import type { AnodeState, TaskKind } from "@/lib/core/heaters/vocabulary";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";

/** What the computations need to know of the heaters in service, and where they stand. */
export type Fleet = {
  readonly heaters: readonly Heater[];
  readonly sites: ReadonlyMap<string, Site>;
};

type HeaterRow = Omit<Heater, "install" | "nameplate" | "home" | "water" | "care"> &
  Heater["nameplate"] &
  Heater["water"] &
  Omit<Heater["home"], "label"> & {
    readonly unitLabel: string | null;
    readonly installEarliest: CalendarDay;
    readonly installLatest: CalendarDay;
    readonly installEvidence: Heater["install"]["evidence"];
  };

type CareRow = {
  readonly heaterId: string;
  readonly task: TaskKind;
  readonly days: readonly CalendarDay[];
  readonly lastFinding: string | null;
};

/**
 * Loads heaters with their home, building, water and care: all in service, or those named (also
 * retired ones). Three queries whatever their number.
 */
export async function loadFleet(
  client: pg.ClientBase,
  { heaterIds = null }: { readonly heaterIds?: readonly string[] | null } = {},
): Promise<Fleet> {
  const heaters = await client.query<HeaterRow>(
    `SELECT h.id, h.tag, b."propertyId", h."buildingId", h."unitId", h.technology, h.fuel,
       h."installEarliest", h."installLatest", h."installEvidence",
       h.manufacturer, h.model, h.serial, h."volumeGal", h."inputBtuPerHour", h."inputWatts",
       h."uniformEnergyFactor", h."firstHourGal", h.place, h."overFinishedSpace", h."drainPan",
       h."leakShutoff", h."closedSystem", h."expansionControl", h."mixingValve", h."setpointF",
       h."warrantyYears", u.label AS "unitLabel", u.floor, u.riser, u.bedrooms, u.bathrooms,
       u.occupants, h."homesServed", w."hardnessMgPerLitre", COALESCE(w.softened, 'unknown') AS softened,
       w.ph, w."alkalinityMgPerLitre", w."dissolvedSolidsMgPerLitre"
     FROM "Heater" h
     JOIN "Building" b ON b.id = h."buildingId"
     LEFT JOIN "Unit" u ON u.id = h."unitId"
     LEFT JOIN (
       SELECT DISTINCT ON ("propertyId") * FROM "WaterTest" ORDER BY "propertyId", "sampledOn" DESC
     ) w ON w."propertyId" = b."propertyId"
     WHERE CASE WHEN $1::uuid[] IS NULL THEN h.status = 'in-service' ELSE h.id = ANY ($1) END
     ORDER BY h.id`,
    [heaterIds],
  );
  const care = await client.query<CareRow>(
    `SELECT t."heaterId", t.task,
       array_agg(t."doneOn"::text ORDER BY t."doneOn") AS days,
       (array_agg(t.finding ORDER BY t."doneOn" DESC))[1] AS "lastFinding"
     FROM "VisitTask" t JOIN "Heater" h ON h.id = t."heaterId"
     WHERE CASE WHEN $1::uuid[] IS NULL THEN h.status = 'in-service' ELSE h.id = ANY ($1) END
     GROUP BY t."heaterId", t.task`,
    [heaterIds],
  );
  const sites = await client.query<Site>(
    `SELECT id AS "propertyId", "annualMeanAirF", "airAmplitudeF", "coldestMonth", "demandLevel",
       "gasCentsPerTherm", "electricityCentsPerKwh", "gasStandingCentsPerMonth", "gridRegion"
     FROM "Property"`,
  );
  const careOf = new Map<string, CareRow[]>();
  for (const row of care.rows) {
    const rows = careOf.get(row.heaterId);
    if (rows) rows.push(row);
    else careOf.set(row.heaterId, [row]);
  }
  return {
    heaters: heaters.rows.map((row) => heaterOf(row, careOf.get(row.id) ?? [])),
    sites: new Map(sites.rows.map((site) => [site.propertyId, site])),
  };
}

function heaterOf(row: HeaterRow, care: readonly CareRow[]): Heater {
  return {
    id: row.id,
    tag: row.tag,
    propertyId: row.propertyId,
    buildingId: row.buildingId,
    unitId: row.unitId,
    technology: row.technology,
    fuel: row.fuel,
    install: {
      earliest: row.installEarliest,
      latest: row.installLatest,
      evidence: row.installEvidence,
    },
    nameplate: {
      manufacturer: row.manufacturer,
      model: row.model,
      serial: row.serial,
      volumeGal: row.volumeGal,
      inputBtuPerHour: row.inputBtuPerHour,
      inputWatts: row.inputWatts,
      uniformEnergyFactor: row.uniformEnergyFactor,
      firstHourGal: row.firstHourGal,
    },
    place: row.place,
    overFinishedSpace: row.overFinishedSpace,
    drainPan: row.drainPan,
    leakShutoff: row.leakShutoff,
    closedSystem: row.closedSystem,
    expansionControl: row.expansionControl,
    mixingValve: row.mixingValve,
    setpointF: row.setpointF,
    warrantyYears: row.warrantyYears,
    home: {
      label: row.unitLabel,
      floor: row.floor,
      riser: row.riser,
      bedrooms: row.bedrooms,
      bathrooms: row.bathrooms,
      occupants: row.occupants,
      homesServed: row.homesServed,
    },
    water: {
      hardnessMgPerLitre: row.hardnessMgPerLitre,
      softened: row.softened,
      ph: row.ph,
      alkalinityMgPerLitre: row.alkalinityMgPerLitre,
      dissolvedSolidsMgPerLitre: row.dissolvedSolidsMgPerLitre,
    },
    care: careOfRows(care),
  };
}

function careOfRows(rows: readonly CareRow[]): Heater["care"] {
  const daysOf = (task: TaskKind) => rows.find((row) => row.task === task)?.days ?? [];
  const inspection = rows.find((row) => row.task === "anode-inspection");
  const lastInspected = inspection?.days.at(-1);
  return {
    flushDays: daysOf("flush"),
    anodeReplacementDays: daysOf("anode-replacement"),
    anodeInspection:
      inspection && lastInspected
        ? { day: lastInspected, state: anodeState(inspection.lastFinding) }
        : null,
    lastDone: Object.fromEntries(rows.map((row) => [row.task, row.days.at(-1)])),
  };
}

function anodeState(finding: string | null): AnodeState {
  return finding === "protected" || finding === "spent" ? finding : "unknown";
}
