import "server-only";
import { arrangeElevation, type Elevation } from "@/lib/core/heaters/elevation";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import {
  type BuildingUpgrade,
  type ElevationHeater,
  listBuildingUpgrades,
  listElevationHeaters,
} from "@/lib/data/elevation";
import { withSql } from "@/lib/data/tenant";
import { ensureFreshRisk } from "./risk-scoring";
import { requireSiteBuilding } from "./survey";
import { requireAction, type Viewer } from "./viewer";

export type { ElevationHeater } from "@/lib/data/elevation";

export type BuildingElevation = {
  readonly building: {
    readonly id: string;
    readonly name: string;
    readonly propertyId: string;
    readonly propertyName: string;
  };
  readonly heaters: readonly ElevationHeater[];
  readonly drawing: Elevation<ElevationHeater>;
  /** What the plan in force, or without one the latest, does here, by period; empty without a plan. */
  readonly periods: readonly BuildingPeriod[];
};

export type BuildingPeriod = {
  readonly period: string;
  readonly swaps: number;
  readonly swapCents: number;
  /** Cost of an electrical upgrade that falls into the period; null when none does. */
  readonly upgradeCents: number | null;
};

/**
 * A building as it stands, with what is known of each heater in service.
 *
 * @throws {ServiceError} `not-found` when the organisation has no such building.
 */
export function readElevation(
  viewer: Viewer,
  buildingId: string,
  today: CalendarDay,
): Promise<BuildingElevation> {
  requireAction(viewer, "record.read");
  return withSql(viewer, async (client) => {
    const { id, name, propertyId, propertyName } = await requireSiteBuilding(client, buildingId);
    await ensureFreshRisk(client, viewer, today);
    const heaters = await listElevationHeaters(client, id);
    return {
      building: { id, name, propertyId, propertyName },
      heaters,
      drawing: arrangeElevation(heaters),
      periods: periodsOf(heaters, await listBuildingUpgrades(client, id)),
    };
  });
}

function periodsOf(
  heaters: readonly ElevationHeater[],
  upgrades: readonly BuildingUpgrade[],
): readonly BuildingPeriod[] {
  const names = new Set(upgrades.map(({ period }) => period));
  for (const { swapPeriod } of heaters) if (swapPeriod !== null) names.add(swapPeriod);
  return [...names].sort().map((period) => {
    const swapped = heaters.filter(({ swapPeriod }) => swapPeriod === period);
    const built = upgrades.filter((upgrade) => upgrade.period === period);
    return {
      period,
      swaps: swapped.length,
      swapCents: swapped.reduce((sum, { swapCents }) => sum + (swapCents ?? 0), 0),
      upgradeCents:
        built.length === 0 ? null : built.reduce((sum, { costCents }) => sum + costCents, 0),
    };
  });
}
