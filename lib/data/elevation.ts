import type pg from "pg";
import type { Technology } from "@/lib/core/heaters/vocabulary";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import { PLAN_THAT_COUNTS } from "./plans";

/** A heater in service as the drawing of its building needs it. */
export type ElevationHeater = {
  readonly heaterId: string;
  /** The home's number; the heater's tag where it serves no single home. */
  readonly label: string;
  readonly tag: string;
  readonly floor: number | null;
  readonly riser: string | null;
  readonly technology: Technology;
  /** Years, from the middle of the install bracket; null until the risk has been scored. */
  readonly ageYears: number | null;
  /** True when the install day is a bracket or an estimate. */
  readonly isAgeEstimated: boolean;
  /** Chance of failing within 12 months; null until scored. */
  readonly failureProbability: number | null;
  readonly expectedLossCents: number | null;
  readonly lastVisitOn: CalendarDay | null;
  /** Period of its swap in the plan that counts; null when the plan leaves it, or there is none. */
  readonly swapPeriod: string | null;
  /** The option's name; its code where the catalogue has it no more. */
  readonly swapOption: string | null;
  readonly swapCents: number | null;
};

/** The heaters in service of one building, with their line in the plan that counts. */
export async function listElevationHeaters(
  client: pg.ClientBase,
  buildingId: string,
): Promise<readonly ElevationHeater[]> {
  const { rows } = await client.query<ElevationHeater>(
    `SELECT h.id AS "heaterId", COALESCE(u.label, h.tag) AS label, h.tag, u.floor, u.riser,
       h.technology, r."ageYears",
       (h."installEarliest" < h."installLatest"
         OR h."installEvidence" IN ('staff-estimate', 'building-age', 'none')) AS "isAgeEstimated",
       r."failureProbability", r."expectedLossCents",
       (SELECT max(v."visitedOn") FROM "ServiceVisit" v WHERE v."heaterId" = h.id) AS "lastVisitOn",
       i.period AS "swapPeriod",
       CASE WHEN i.period IS NULL THEN NULL ELSE COALESCE(o.name, i."optionCode") END AS "swapOption",
       CASE WHEN i.period IS NULL THEN NULL ELSE i."capitalCents" END AS "swapCents"
     FROM "Heater" h
     LEFT JOIN "Unit" u ON u.id = h."unitId"
     LEFT JOIN "HeaterRisk" r ON r."heaterId" = h.id
     LEFT JOIN "PlanItem" i ON i."heaterId" = h.id AND i."planRunId" = ${PLAN_THAT_COUNTS}
     LEFT JOIN "OptionType" o ON o.code = i."optionCode"
       AND o."organizationId" = h."organizationId"
     WHERE h."buildingId" = $1 AND h.status = 'in-service'`,
    [buildingId],
  );
  return rows;
}

export type BuildingUpgrade = { readonly period: string; readonly costCents: number };

/** The electrical upgrades that the plan that counts gives a building. */
export async function listBuildingUpgrades(
  client: pg.ClientBase,
  buildingId: string,
): Promise<readonly BuildingUpgrade[]> {
  const { rows } = await client.query<BuildingUpgrade>(
    `SELECT period, "costCents" FROM "PlanUpgrade"
     WHERE "buildingId" = $1 AND "planRunId" = ${PLAN_THAT_COUNTS}
     ORDER BY period`,
    [buildingId],
  );
  return rows;
}
