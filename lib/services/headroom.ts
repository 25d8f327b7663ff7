import "server-only";
import {
  assessHeadroom,
  type BuildingElectrical,
  buildingElectricalSchema,
  DEFAULT_ELECTRICAL,
  type HeadroomAssessment,
} from "@/lib/core/heaters/electrical-building";
import { isCombustion } from "@/lib/core/heaters/vocabulary";
import { failure, type Outcome, success } from "@/lib/core/shared/outcome";
import { parseWith } from "@/lib/core/shared/validation";
import { writeAudit } from "@/lib/data/audit";
import { loadFleet } from "@/lib/data/fleet";
import { listSiteBuildings, type SiteBuilding, updateElectrics } from "@/lib/data/sites";
import { withSql } from "@/lib/data/tenant";
import { headroomFormSchema } from "./headroom-form";
import { mayDo } from "./permissions";
import { chooseProperty, type SitesView } from "./sites";
import { requireSiteBuilding } from "./survey";
import { requireAction, type Viewer } from "./viewer";

export type { SiteBuilding } from "@/lib/data/sites";

/** A building's headroom as it stands and as it comes out of what is on record. */
export type BuildingHeadroom = {
  readonly building: SiteBuilding;
  /** How it was worked out; null where nobody has yet, and then the assessment is by the default. */
  readonly electrical: BuildingElectrical | null;
  readonly assessment: HeadroomAssessment;
  /** Heaters in service that would need a new circuit: those that burn. */
  readonly burners: number;
};

export type HeadroomView = Pick<SitesView, "properties" | "propertyId" | "needsProperty"> & {
  readonly buildings: readonly BuildingHeadroom[];
};

/** The electrical headroom of every building, or of one property's. */
export function readHeadrooms(viewer: Viewer, asked: string | null): Promise<HeadroomView> {
  requireAction(viewer, "record.read");
  return withSql(viewer, async (client) => {
    const place = await chooseProperty(client, asked);
    const { heaters } = await loadFleet(client, { propertyId: place.propertyId });
    const burners = new Map<string, number>();
    for (const { buildingId, technology } of heaters) {
      if (!isCombustion(technology)) continue;
      burners.set(buildingId, (burners.get(buildingId) ?? 0) + 1);
    }
    const buildings = await listSiteBuildings(client, place.propertyId);
    return {
      ...place,
      buildings: buildings
        .filter((building) => building.heaters > 0)
        .map((building) => headroomOf(building, burners.get(building.id) ?? 0)),
    };
  });
}

/** @throws {ServiceError} `not-found` when the organisation has no such building. */
export function readBuildingHeadroom(
  viewer: Viewer,
  buildingId: string,
): Promise<BuildingHeadroom & { readonly mayEdit: boolean }> {
  requireAction(viewer, "record.read");
  return withSql(viewer, async (client) => {
    const building = await requireSiteBuilding(client, buildingId);
    const { heaters } = await loadFleet(client, { propertyId: building.propertyId });
    const burners = heaters.filter(
      (heater) => heater.buildingId === buildingId && isCombustion(heater.technology),
    ).length;
    return { ...headroomOf(building, burners), mayEdit: mayDo(viewer.role, "settings.edit") };
  });
}

export function headroomOf(building: SiteBuilding, burners: number): BuildingHeadroom {
  const stored = buildingElectricalSchema.safeParse(building.electrical);
  const electrical = stored.success ? stored.data : null;
  return {
    building,
    electrical,
    burners,
    assessment: assessHeadroom(
      serviceOf(building),
      building.measuredPeakKw,
      electrical ?? DEFAULT_ELECTRICAL,
    ),
  };
}

function serviceOf({
  serviceAmps,
  serviceVolts,
}: Pick<SiteBuilding, "serviceAmps" | "serviceVolts">) {
  return serviceAmps === null || serviceVolts === null
    ? null
    : { amps: serviceAmps, volts: serviceVolts };
}

/**
 * Keeps how a building's headroom was worked out, and the circuits that come out of it as the plan's
 * limit. What plans were computed with stays with them.
 */
export function saveHeadroom(
  viewer: Viewer,
  buildingId: string,
  input: unknown,
): Promise<Outcome<{ readonly circuits: number }>> {
  requireAction(viewer, "settings.edit");
  return withSql(viewer, async (client) => {
    const parsed = parseWith(headroomFormSchema, input);
    if (!parsed.ok) return parsed;
    const form = parsed.value;
    const { circuits, missing } = assessHeadroom(
      serviceOf(form),
      form.measuredPeakKw,
      form.electrical,
    );
    if (circuits === null) {
      return failure({
        path: "",
        message: `The method chosen has no answer yet. It lacks: ${missing.join(" ")}`,
      });
    }
    const building = await requireSiteBuilding(client, buildingId, { lock: true });
    const after = { ...form, headroomCircuits: circuits };
    await updateElectrics(client, buildingId, after);
    // The database gives keys back in its own order; both sides are read by the schema.
    const { electrical } = headroomOf(building, 0);
    const before = { ...building, electrical };
    const read = { ...after, electrical: buildingElectricalSchema.parse(after.electrical) };
    const changed = (Object.keys(after) as (keyof typeof after)[]).filter(
      (key) => JSON.stringify(before[key] ?? null) !== JSON.stringify(read[key] ?? null),
    );
    if (changed.length > 0) {
      const pick = (from: Partial<Record<keyof typeof after, unknown>>) =>
        Object.fromEntries(changed.map((key) => [key, from[key] ?? null]));
      await writeAudit(client, viewer.organizationId, {
        userId: viewer.userId,
        action: "building.edit",
        entity: "Building",
        entityId: buildingId,
        before: { name: building.name, ...pick(building) },
        after: { name: building.name, ...pick(after) },
      });
    }
    return success({ circuits });
  });
}
