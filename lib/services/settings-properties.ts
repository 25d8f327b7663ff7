import "server-only";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import { failure, type Outcome, success } from "@/lib/core/shared/outcome";
import { parseWith } from "@/lib/core/shared/validation";
import { type AuditNote, writeAudit } from "@/lib/data/audit";
import {
  type BuildingRow,
  deleteWaterTest,
  findBuilding,
  findProperty,
  insertWaterTest,
  listBuildings,
  listProperties,
  listWaterTests,
  type PropertyRow,
  type PropertySummary,
  updateBuilding,
  updateProperty,
  type WaterTestRow,
} from "@/lib/data/settings";
import { isUniqueViolation } from "@/lib/data/sql-errors";
import { type TenantClient, withSql } from "@/lib/data/tenant";
import { mayDo } from "./permissions";
import { requestRiskPass } from "./risk-scoring";
import { ServiceError } from "./service-error";
import {
  buildingFormSchema,
  propertyFormSchema,
  waterTestFormSchema,
} from "./settings-property-form";
import { requireAction, type Viewer } from "./viewer";

export type { BuildingRow, PropertyRow, PropertySummary, WaterTestRow } from "@/lib/data/settings";

const PROPERTY_EDIT = { action: "property.edit", entity: "Property" };
const BUILDING_EDIT = { action: "building.edit", entity: "Building" };

/** All properties, for the list. */
export function readProperties(viewer: Viewer): Promise<readonly PropertySummary[]> {
  requireAction(viewer, "record.read");
  return withSql(viewer, (client) => listProperties(client));
}

export type PropertyView = {
  readonly mayEdit: boolean;
  readonly property: PropertyRow;
  readonly buildings: readonly BuildingRow[];
  readonly waterTests: readonly WaterTestRow[];
};

/** @throws {ServiceError} `not-found` when the organisation has no such property. */
export function readProperty(viewer: Viewer, propertyId: string): Promise<PropertyView> {
  requireAction(viewer, "record.read");
  return withSql(viewer, async (client) => ({
    mayEdit: mayDo(viewer.role, "settings.edit"),
    property: await requireProperty(client, propertyId),
    buildings: await listBuildings(client, propertyId),
    waterTests: await listWaterTests(client, propertyId),
  }));
}

async function requireProperty(client: TenantClient, propertyId: string): Promise<PropertyRow> {
  const property = isId(propertyId) ? await findProperty(client, propertyId) : null;
  if (!property) throw new ServiceError("not-found", "There is no such property.");
  return property;
}

/** Changes a property: its climate, prices and use take effect in everything computed from now on. */
export async function saveProperty(
  viewer: Viewer,
  propertyId: string,
  input: unknown,
): Promise<Outcome<null>> {
  requireAction(viewer, "settings.edit");
  const parsed = parseWith(propertyFormSchema, input);
  if (!parsed.ok) return parsed;
  return namedOnce("Another property has this name.", () =>
    withSql(viewer, async (client) => {
      const before = await requireProperty(client, propertyId);
      await updateProperty(client, propertyId, parsed.value);
      await logEdit(client, viewer, PROPERTY_EDIT, before, parsed.value);
      return success(null);
    }),
  );
}

/** @throws {ServiceError} `not-found` when the organisation has no such building. */
export function readBuilding(
  viewer: Viewer,
  buildingId: string,
): Promise<{ readonly mayEdit: boolean; readonly building: BuildingRow }> {
  requireAction(viewer, "record.read");
  return withSql(viewer, async (client) => ({
    mayEdit: mayDo(viewer.role, "settings.edit"),
    building: await requireBuilding(client, buildingId),
  }));
}

async function requireBuilding(client: TenantClient, buildingId: string): Promise<BuildingRow> {
  const building = isId(buildingId) ? await findBuilding(client, buildingId) : null;
  if (!building) throw new ServiceError("not-found", "There is no such building.");
  return building;
}

/** Changes a building's service, headroom and upgrade, on which plans depend. */
export async function saveBuilding(
  viewer: Viewer,
  buildingId: string,
  input: unknown,
): Promise<Outcome<null>> {
  requireAction(viewer, "settings.edit");
  const parsed = parseWith(buildingFormSchema, input);
  if (!parsed.ok) return parsed;
  return namedOnce("Another building of this property has this name.", () =>
    withSql(viewer, async (client) => {
      const before = await requireBuilding(client, buildingId);
      await updateBuilding(client, buildingId, parsed.value);
      await logEdit(client, viewer, BUILDING_EDIT, before, parsed.value);
      return success(null);
    }),
  );
}

/** Adds a water test; the latest one of a property sets its hardness, so the fleet is scored anew. */
export async function addWaterTest(
  viewer: Viewer,
  propertyId: string,
  input: unknown,
  today: CalendarDay,
): Promise<Outcome<null>> {
  requireAction(viewer, "settings.edit");
  const parsed = parseWith(waterTestFormSchema, input);
  if (!parsed.ok) return parsed;
  if (parsed.value.sampledOn > today) {
    return failure({ path: "sampledOn", message: "The day of the sample is in the future." });
  }
  return withSql(viewer, async (client) => {
    await requireProperty(client, propertyId);
    const id = await insertWaterTest(client, viewer.organizationId, propertyId, parsed.value);
    await writeAudit(client, viewer.organizationId, {
      userId: viewer.userId,
      action: "water-test.add",
      entity: "WaterTest",
      entityId: id,
      after: { propertyId, ...parsed.value },
    });
    await requestRiskPass(client, viewer, today);
    return success(null);
  });
}

/** Takes a water test off the record; the log keeps what it said. */
export function removeWaterTest(
  viewer: Viewer,
  propertyId: string,
  testId: string,
  today: CalendarDay,
): Promise<Outcome<null>> {
  requireAction(viewer, "settings.edit");
  return withSql(viewer, async (client) => {
    await requireProperty(client, propertyId);
    const removed = isId(testId) ? await deleteWaterTest(client, propertyId, testId) : null;
    if (!removed) return failure({ path: "", message: "This test is not on record any more." });
    const { id, ...fields } = removed;
    await writeAudit(client, viewer.organizationId, {
      userId: viewer.userId,
      action: "water-test.remove",
      entity: "WaterTest",
      entityId: id,
      before: { propertyId, ...fields },
    });
    await requestRiskPass(client, viewer, today);
    return success(null);
  });
}

/** Writes what has changed to the log, with the name of the thing; nothing when nothing has. */
async function logEdit<F extends { readonly name: string }>(
  client: TenantClient,
  viewer: Viewer,
  { action, entity }: Pick<AuditNote, "action" | "entity">,
  before: F & { readonly id: string },
  after: F,
): Promise<void> {
  const changed = (Object.keys(after) as (keyof F)[]).filter((key) => before[key] !== after[key]);
  if (changed.length === 0) return;
  const pick = (from: F) => Object.fromEntries(changed.map((key) => [key, from[key]]));
  await writeAudit(client, viewer.organizationId, {
    userId: viewer.userId,
    action,
    entity,
    entityId: before.id,
    before: { name: before.name, ...pick(before) },
    after: { name: after.name, ...pick(after) },
  });
}

async function namedOnce<T>(message: string, work: () => Promise<Outcome<T>>): Promise<Outcome<T>> {
  try {
    return await work();
  } catch (error) {
    if (isUniqueViolation(error)) return failure({ path: "name", message });
    throw error;
  }
}

function isId(text: string): boolean {
  return /^[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}$/i.test(text);
}
