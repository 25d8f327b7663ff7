import "server-only";
import { factorBookOf, PUBLISHED_FACTORS } from "@/lib/core/emissions/factors";
import { computeHomeResult, type HomeResult } from "@/lib/core/emissions/home-result";
import { locationRates } from "@/lib/core/emissions/location-rates";
import { energyInputOf, energyInputOfOption } from "@/lib/core/energy/annual-energy";
import { type HeaterMeters, metersOfHeater } from "@/lib/core/energy/meters";
import {
  drawShares,
  energyContextOf,
  UNKNOWN_PROPERTY_ENERGY,
} from "@/lib/core/energy/property-energy";
import type { Technology } from "@/lib/core/heaters/vocabulary";
import { type CalendarDay, yearOf } from "@/lib/core/shared/calendar-day";
import { loadPlannedSwaps } from "@/lib/data/emissions";
import { readEmissionsTerms } from "@/lib/data/emissions-terms";
import { loadPropertyEnergy } from "@/lib/data/energy";
import { factorsInForce, listOwnFactors } from "@/lib/data/factors";
import { loadFleet } from "@/lib/data/fleet";
import { ensureOptions, listOptions } from "@/lib/data/options";
import { withSql } from "@/lib/data/tenant";
import { listPropertyChoices, type PropertyChoice } from "@/lib/data/upkeep";
import { requireAction, type Viewer } from "./viewer";

/** One home's heater, and the one that would take its place. */
export type HomeLine = {
  readonly heaterId: string;
  readonly tag: string;
  readonly home: string | null;
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
  readonly planName: string | null;
  readonly homes: readonly HomeLine[];
};

/** The option shown where no plan has a line for a heater. */
const COMMON_OPTION = "hp240-50";

/** What the planned swap means for each home of one property: energy, cost, who pays. */
export function readHomes(
  viewer: Viewer,
  asked: string | null,
  today: CalendarDay,
): Promise<HomesView> {
  requireAction(viewer, "record.read");
  return withSql(viewer, async (client) => {
    const properties = await listPropertyChoices(client);
    const propertyId = properties.find(({ id }) => id === asked)?.id ?? properties[0]?.id ?? null;
    await ensureOptions(client, viewer.organizationId);
    const plan = await loadPlannedSwaps(client, null);
    if (propertyId === null) return { properties, propertyId, planName: null, homes: [] };
    const { heaters, sites } = await loadFleet(client, { propertyId });
    const site = sites.get(propertyId);
    if (!site) return { properties, propertyId, planName: null, homes: [] };
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
      const line = plan?.lines.get(heater.id) ?? null;
      const option = optionOf.get(line?.optionCode ?? COMMON_OPTION);
      if (!option) return [];
      const context = energyContextOf(energy, { today, shareOfDraw: shares.get(heater.id) ?? 1 });
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
      planName: plan?.scenarioName ?? null,
      homes: homes.sort((a, b) =>
        (a.home ?? a.tag).localeCompare(b.home ?? b.tag, "en-US", { numeric: true }),
      ),
    };
  });
}
