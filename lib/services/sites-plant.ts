import "server-only";
import { monthlyInletWaterF } from "@/lib/core/energy/climate";
import { type BuildingPlant, buildingPlantSchema } from "@/lib/core/heaters/building-plant";
import { DEFAULT_PLANT } from "@/lib/core/heaters/central-plant";
import type { HeadroomAssessment } from "@/lib/core/heaters/electrical-building";
import type { Heater, Site } from "@/lib/core/heaters/heater";
import type { MoneyRange } from "@/lib/core/planning/options";
import { conversionCosts, conversionGroups } from "@/lib/core/planning/plant-conversion";
import { type Outcome, success } from "@/lib/core/shared/outcome";
import { parseWith } from "@/lib/core/shared/validation";
import { writeAudit } from "@/lib/data/audit";
import { loadFleet } from "@/lib/data/fleet";
import { type SiteBuilding, updatePlant } from "@/lib/data/sites";
import { withSql } from "@/lib/data/tenant";
import { headroomOf } from "./headroom";
import { mayDo } from "./permissions";
import { plantFormSchema } from "./sites-plant-form";
import { activeOptions, requireSiteBuilding } from "./survey";
import { requireAction, type Viewer } from "./viewer";

/** What one option of the catalogue says of a plant for these homes. */
export type PlantPrice = Pick<MoneyRange, "lowCents" | "likelyCents" | "highCents"> & {
  readonly code: string;
  readonly name: string;
  /** Single heaters that would go, and the homes behind them. */
  readonly heaters: number;
  readonly homes: number;
};

export type PlantView = {
  readonly building: SiteBuilding;
  readonly plant: BuildingPlant;
  readonly isStored: boolean;
  /** What the plant starts from in place of a record, in sentences. */
  readonly assumed: readonly string[];
  readonly service: { readonly volts: number; readonly phases: 1 | 3 } | null;
  /** What the service still carries, volt-amperes; null where it is not known. */
  readonly spareVoltAmperes: number | null;
  readonly spareFrom: string;
  /** Heaters in service that would go, by riser; null for those whose riser is not on record. */
  readonly risers: readonly {
    readonly riser: string | null;
    readonly heaters: number;
    readonly homes: number;
  }[];
  readonly prices: readonly PlantPrice[];
  readonly mayEdit: boolean;
};

/**
 * The central plant of a building as it stands, or as the record makes it out before anybody has.
 * @throws {ServiceError} `not-found` when the organisation has no such building.
 */
export function readPlant(viewer: Viewer, buildingId: string): Promise<PlantView> {
  requireAction(viewer, "record.read");
  return withSql(viewer, async (client) => {
    const building = await requireSiteBuilding(client, buildingId);
    const fleet = await loadFleet(client, { propertyId: building.propertyId });
    const heaters = fleet.heaters.filter((heater) => heater.buildingId === buildingId);
    const site = fleet.sites.get(building.propertyId);
    const stored = buildingPlantSchema.safeParse(building.plant);
    const start = plantFromRecord(heaters, site, building.homes);
    const { electrical, assessment } = headroomOf(building, 0);
    const phases = electrical?.phases ?? 1;
    const service =
      building.serviceVolts === null ? null : { volts: building.serviceVolts, phases };
    const going = conversionGroups(heaters, new Map([[buildingId, { scope: "building" }]]))[0];
    const options = await activeOptions(client, viewer);
    return {
      building,
      plant: stored.success ? stored.data : start.plant,
      isStored: stored.success,
      assumed: stored.success ? [] : start.assumed,
      service,
      ...spareOf(assessment, service),
      risers: risersOf(heaters),
      prices: options
        .filter(({ terms }) => terms.perHome !== undefined)
        .flatMap(({ code, name, terms }) =>
          going
            ? [
                {
                  code,
                  name,
                  heaters: going.heaters.length,
                  homes: going.homes,
                  ...conversionCosts(terms, going.heaters.length, going.homes),
                },
              ]
            : [],
        ),
      mayEdit: mayDo(viewer.role, "settings.edit"),
    };
  });
}

/** Keeps a building's central plant and whether plans are offered the conversion to it. */
export function savePlant(
  viewer: Viewer,
  buildingId: string,
  input: unknown,
): Promise<Outcome<null>> {
  requireAction(viewer, "settings.edit");
  return withSql(viewer, async (client) => {
    const parsed = parseWith(plantFormSchema, input);
    if (!parsed.ok) return parsed;
    const building = await requireSiteBuilding(client, buildingId, { lock: true });
    const stored = buildingPlantSchema.safeParse(building.plant);
    const before = stored.success ? stored.data : null;
    const after = buildingPlantSchema.parse(parsed.value);
    const changed = (Object.keys(after) as (keyof BuildingPlant)[]).filter(
      (key) => before?.[key] !== after[key],
    );
    if (changed.length === 0) return success(null);
    await updatePlant(client, buildingId, after);
    const pick = (from: BuildingPlant | null) =>
      from && Object.fromEntries(changed.map((key) => [key, from[key]]));
    await writeAudit(client, viewer.organizationId, {
      userId: viewer.userId,
      action: "building.plant",
      entity: "Building",
      entityId: buildingId,
      before: { name: building.name, ...pick(before) },
      after: { name: building.name, ...pick(after) },
    });
    return success(null);
  });
}

/** What the record knows of a building's people and water, and what stands for the rest. */
function plantFromRecord(
  heaters: readonly Heater[],
  site: Site | undefined,
  homesOnRecord: number,
): { readonly plant: BuildingPlant; readonly assumed: readonly string[] } {
  const assumed: string[] = [];
  let people = 0;
  let estimated = 0;
  let homes = 0;
  for (const { home } of heaters) {
    homes += home.homesServed;
    people += home.occupants ?? peopleOf(home);
    if (home.occupants === null) estimated += home.homesServed;
  }
  if (estimated > 0) {
    assumed.push(
      `The people of ${estimated} ${estimated === 1 ? "home" : "homes"} are not on record: one more than the bedrooms, or two a home.`,
    );
  }
  const coldestInletF = site ? Math.round(Math.min(...monthlyInletWaterF(site))) : 50;
  assumed.push(
    site
      ? `Coldest water of ${coldestInletF} °F by the property’s climate, from a correlation for town mains.`
      : "Coldest water of 50 °F.",
    `${DEFAULT_PLANT.runHours} hours of running on the greatest day, a coefficient of performance of ${DEFAULT_PLANT.coefficientOfPerformance} on the coldest, ${DEFAULT_PLANT.loopWattsPerHome} W a home lost by the loop: common practice, no source; edit them.`,
  );
  return {
    plant: {
      homes: Math.max(2, homes || homesOnRecord),
      people: Math.max(1, Math.round(people)),
      level: site?.demandLevel ?? "medium",
      ...DEFAULT_PLANT,
      coldestInletF,
      storageGal: null,
      heatBtuPerHour: null,
      floorSqFt: null,
      scope: "none",
    },
    assumed,
  };
}

/** The people of a heater are counted together where it serves several homes. */
function peopleOf({ bedrooms, homesServed }: Heater["home"]): number {
  if (bedrooms === null) return 2 * homesServed;
  return homesServed > 1 ? Math.max(bedrooms + 1, 2 * homesServed) : bedrooms + 1;
}

function risersOf(heaters: readonly Heater[]): PlantView["risers"] {
  const risers = new Map<string | null, { heaters: number; homes: number }>();
  for (const { technology, home } of heaters) {
    if (technology === "heat-pump-central") continue;
    const sum = risers.get(home.riser) ?? { heaters: 0, homes: 0 };
    risers.set(home.riser, { heaters: sum.heaters + 1, homes: sum.homes + home.homesServed });
  }
  return [...risers]
    .map(([riser, sum]) => ({ riser, ...sum }))
    .sort((a, b) =>
      (a.riser ?? "\uffff").localeCompare(b.riser ?? "\uffff", "en", { numeric: true }),
    );
}

function spareOf(
  { measured, calculated }: HeadroomAssessment,
  service: PlantView["service"],
): Pick<PlantView, "spareVoltAmperes" | "spareFrom"> {
  const figure = measured ?? calculated;
  if (!figure || !service) {
    return {
      spareVoltAmperes: null,
      spareFrom: "no measured peak and no calculated load is on record",
    };
  }
  const lines = service.phases === 3 ? Math.sqrt(3) : 1;
  return {
    spareVoltAmperes: figure.spareAmps * service.volts * lines,
    spareFrom: figure.method === "measured" ? "the measured peak" : "the calculated load",
  };
}
