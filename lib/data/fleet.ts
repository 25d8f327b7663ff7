import type pg from "pg";
import type { Heater, Site } from "@/lib/core/heaters/heater";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import { type CareEntry, type LastFindings, readCareHistory } from "@/lib/core/upkeep/care-history";

/** What the computations need to know of the heaters in service, and where they stand. */
export type Fleet = {
  readonly heaters: readonly Heater[];
  readonly sites: ReadonlyMap<string, Site>;
  /** What each task last found, by heater. */
  readonly lastFindings: ReadonlyMap<string, LastFindings>;
};

/** Which heaters: those in service (of one property), or those named, also retired ones. */
export type FleetFilter = {
  readonly heaterIds?: readonly string[] | null;
  readonly propertyId?: string | null;
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

type CareRow = { readonly heaterId: string; readonly entries: readonly CareEntry[] };

const CHOSEN = `CASE WHEN $1::uuid[] IS NULL
   THEN h.status = 'in-service' AND ($2::uuid IS NULL OR b."propertyId" = $2)
   ELSE h.id = ANY ($1) END`;

/** Loads heaters with their home, building, water and care. Three queries whatever their number. */
export async function loadFleet(
  client: pg.ClientBase,
  { heaterIds = null, propertyId = null }: FleetFilter = {},
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
     WHERE ${CHOSEN}
     ORDER BY h.id`,
    [heaterIds, propertyId],
  );
  const care = await client.query<CareRow>(
    `SELECT t."heaterId",
       json_agg(json_build_object('task', t.task, 'day', t."doneOn", 'finding', t.finding)) AS entries
     FROM "VisitTask" t
     JOIN "Heater" h ON h.id = t."heaterId"
     JOIN "Building" b ON b.id = h."buildingId"
     WHERE ${CHOSEN}
     GROUP BY t."heaterId"`,
    [heaterIds, propertyId],
  );
  const sites = await client.query<Site>(
    `SELECT id AS "propertyId", "annualMeanAirF", "airAmplitudeF", "coldestMonth", "demandLevel",
       "gasCentsPerTherm", "electricityCentsPerKwh", "gasStandingCentsPerMonth", "gridRegion"
     FROM "Property"`,
  );
  const historyOf = new Map(
    care.rows.map(({ heaterId, entries }) => [heaterId, readCareHistory(entries)]),
  );
  return {
    heaters: heaters.rows.map((row) => heaterOf(row, historyOf.get(row.id)?.care ?? NO_CARE)),
    sites: new Map(sites.rows.map((site) => [site.propertyId, site])),
    lastFindings: new Map(
      [...historyOf].map(([heaterId, { lastFindings }]) => [heaterId, lastFindings]),
    ),
  };
}

const { care: NO_CARE } = readCareHistory([]);

function heaterOf(row: HeaterRow, care: Heater["care"]): Heater {
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
    care,
  };
}
