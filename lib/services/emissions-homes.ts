import "server-only";
import { z } from "zod";
import { factorBookOf, PUBLISHED_FACTORS } from "@/lib/core/emissions/factors";
import { computeHomeResult, type HomeResult } from "@/lib/core/emissions/home-result";
import { locationRates } from "@/lib/core/emissions/location-rates";
import { energyInputOf, energyInputOfOption } from "@/lib/core/energy/annual-energy";
import type { Calibration } from "@/lib/core/energy/calibration";
import { type HeaterMeters, metersOfHeater } from "@/lib/core/energy/meters";
import {
  drawShares,
  energyContextOf,
  UNKNOWN_PROPERTY_ENERGY,
} from "@/lib/core/energy/property-energy";
import type { Technology } from "@/lib/core/heaters/vocabulary";
import { type CalendarDay, yearOf } from "@/lib/core/shared/calendar-day";
import { loadPlannedSwaps } from "@/lib/data/emissions";
import { findPlaceOfHeater } from "@/lib/data/emissions-ledger";
import { loadBuildingNames } from "@/lib/data/emissions-record";
import { readEmissionsTerms } from "@/lib/data/emissions-terms";
import { loadPropertyEnergy } from "@/lib/data/energy";
import { factorsInForce, listOwnFactors } from "@/lib/data/factors";
import { loadFleet } from "@/lib/data/fleet";
import { ensureOptions, listOptions } from "@/lib/data/options";
import { withSql } from "@/lib/data/tenant";
import { listPropertyChoices, type PropertyChoice } from "@/lib/data/upkeep";
import { readEmissions } from "./emissions";
import { requireAction, type Viewer } from "./viewer";

/** One home's heater, and the one that would take its place. */
export type HomeLine = {
  readonly heaterId: string;
  readonly tag: string;
  readonly home: string | null;
  readonly buildingId: string;
  readonly buildingName: string;
  readonly technology: Technology;
  readonly optionName: string;
  /** The plan's period; null where the plan leaves the heater and a common option stands in. */
  readonly period: string | null;
  readonly meters: HeaterMeters & { readonly isAssumed: boolean };
  readonly result: HomeResult;
  readonly assumed: readonly string[];
};

export type HomesView = {
  readonly properties: readonly PropertyChoice[];
  readonly propertyId: string | null;
  /** Buildings of the property that have heaters in service. */
  readonly buildings: readonly { readonly id: string; readonly name: string }[];
  readonly buildingId: string | null;
  readonly planName: string | null;
  /** The property's meters beside its model, by the latest account; null where it is not metered. */
  readonly calibration: Calibration | null;
  /** Whether the calibration is in the figures. */
  readonly usesCalibration: boolean;
  /** The homes of one building. */
  readonly homes: readonly HomeLine[];
};

/** The option shown where no plan has a line for a heater. */
const COMMON_OPTION = "hp240-50";

/**
 * What the planned swap means for each home of one building: energy, cost, who pays. Where the
 * property or the building asked for is not on record, the first one by name.
 */
export async function readHomes(
  viewer: Viewer,
  asked: { readonly propertyId: string | null; readonly buildingId?: string | null },
  today: CalendarDay,
): Promise<HomesView> {
  requireAction(viewer, "record.read");
  const properties = await withSql(viewer, listPropertyChoices);
  const propertyId =
    properties.find(({ id }) => id === asked.propertyId)?.id ?? properties[0]?.id ?? null;
  const empty: HomesView = {
    properties,
    propertyId,
    buildings: [],
    buildingId: null,
    planName: null,
    calibration: null,
    usesCalibration: false,
    homes: [],
  };
  if (propertyId === null) return empty;
  const { account } = await readEmissions(viewer, { runId: null, propertyId }, today);
  const calibration = account?.property?.achieved.at(-1)?.detail.calibration ?? null;
  return withSql(viewer, async (client) => {
    await ensureOptions(client, viewer.organizationId);
    const plan = await loadPlannedSwaps(client, null);
    const { heaters, sites } = await loadFleet(client, { propertyId });
    const site = sites.get(propertyId);
    if (!site) return empty;
    const names = await loadBuildingNames(client);
    const buildings = [...new Set(heaters.map((heater) => heater.buildingId))]
      .map((id) => ({ id, name: names.get(id) ?? "" }))
      .sort((a, b) => a.name.localeCompare(b.name, "en-US", { numeric: true }));
    const building = buildings.find(({ id }) => id === asked.buildingId) ?? buildings[0];
    if (!building) return empty;
    const energy = (await loadPropertyEnergy(client)).get(propertyId) ?? UNKNOWN_PROPERTY_ENERGY;
    const { terms } = await readEmissionsTerms(client);
    const book = factorBookOf([
      ...PUBLISHED_FACTORS,
      ...factorsInForce(await listOwnFactors(client)),
    ]);
    const rates = locationRates({
      book,
      gwpSet: terms.gwpSet,
      year: yearOf(today),
      gridRegion: site.gridRegion,
    });
    const optionOf = new Map((await listOptions(client)).map((option) => [option.code, option]));
    const shares = drawShares(heaters);
    const homes = heaters.flatMap((heater): HomeLine[] => {
      if (heater.buildingId !== building.id) return [];
      const line = plan?.lines.get(heater.id) ?? null;
      const option = optionOf.get(line?.optionCode ?? COMMON_OPTION);
      if (!option) return [];
      const context = energyContextOf(energy, {
        today,
        shareOfDraw: shares.get(heater.id) ?? 1,
        meterFactor: calibration?.factor ?? null,
      });
      const before = energyInputOf(heater, site, context);
      const after = energyInputOfOption(
        heater,
        site,
        {
          technology: option.terms.technology,
          volumeGal: option.terms.volumeGal,
          uniformEnergyFactor: option.terms.uniformEnergyFactor.value,
          inputWatts: null,
        },
        context,
      );
      const meters = metersOfHeater(heater, energy.meters);
      return [
        {
          heaterId: heater.id,
          tag: heater.tag,
          home: heater.home.label,
          buildingId: building.id,
          buildingName: building.name,
          technology: heater.technology,
          optionName: option.name,
          period: line?.period ?? null,
          meters,
          result: computeHomeResult({ before, after, meters, rates }),
          assumed: before.assumed,
        },
      ];
    });
    return {
      properties,
      propertyId,
      buildings,
      buildingId: building.id,
      calibration,
      usesCalibration: energy.usesCalibration && calibration !== null,
      planName: plan?.scenarioName ?? null,
      homes: homes.sort((a, b) =>
        (a.home ?? a.tag).localeCompare(b.home ?? b.tag, "en-US", { numeric: true }),
      ),
    };
  });
}

/** One home's sheet for its resident. */
export type HomeSheet = Pick<HomesView, "planName" | "calibration" | "usesCalibration"> & {
  readonly propertyId: string;
  readonly propertyName: string;
  readonly line: HomeLine;
};

/** What the planned swap of one heater means for its home; null when it is not in service. */
export async function readHomeSheet(
  viewer: Viewer,
  heaterId: string,
  today: CalendarDay,
): Promise<HomeSheet | null> {
  requireAction(viewer, "record.read");
  if (!z.uuid().safeParse(heaterId).success) return null;
  const place = await withSql(viewer, (client) => findPlaceOfHeater(client, heaterId));
  if (!place) return null;
  const view = await readHomes(viewer, place, today);
  const line = view.homes.find((home) => home.heaterId === heaterId);
  if (!line) return null;
  const { planName, calibration, usesCalibration } = view;
  const { propertyId, propertyName } = place;
  return { propertyId, propertyName, line, planName, calibration, usesCalibration };
}
