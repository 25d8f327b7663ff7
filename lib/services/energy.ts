import "server-only";
import { z } from "zod";
import { overlapOf, READING_UNITS, type ReadingUnit } from "@/lib/core/energy/meter-readings";
import { type PropertyEnergy, propertyEnergySchema } from "@/lib/core/energy/property-energy";
import { failure, type Outcome, success } from "@/lib/core/shared/outcome";
import { parseWith } from "@/lib/core/shared/validation";
import { writeAudit } from "@/lib/data/audit";
import {
  type AccountProperty,
  listAccountProperties,
  listBuildingsOf,
} from "@/lib/data/emissions-record";
import { findPropertyEnergy, loadPropertyEnergy, writePropertyEnergy } from "@/lib/data/energy";
import {
  deleteReading,
  insertReadings,
  listReadings,
  lockReadings,
  type ReadingRecord,
  summarizeReadings,
} from "@/lib/data/meters";
import { withSql } from "@/lib/data/tenant";
import { propertyEnergyFormSchema, readingFormSchema } from "./emissions-forms";
import { mayDo } from "./permissions";
import { ServiceError } from "./service-error";
import { requireAction, type Viewer } from "./viewer";

export type { ReadingRecord } from "@/lib/data/meters";

export type EnergyLine = AccountProperty & {
  readonly energy: PropertyEnergy;
  readonly readings: {
    readonly readings: number;
    readonly from: string;
    readonly to: string;
  } | null;
};

/** Every property with who holds its meters and what was read. */
export function readEnergyProperties(viewer: Viewer): Promise<readonly EnergyLine[]> {
  requireAction(viewer, "record.read");
  return withSql(viewer, async (client) => {
    const properties = await listAccountProperties(client);
    const energyOf = await loadPropertyEnergy(client);
    const readingsOf = await summarizeReadings(client);
    return properties.flatMap((property) => {
      const energy = energyOf.get(property.id);
      return energy ? [{ ...property, energy, readings: readingsOf.get(property.id) ?? null }] : [];
    });
  });
}

export type EnergyProperty = {
  readonly mayEdit: boolean;
  readonly id: string;
  readonly name: string;
  readonly energy: PropertyEnergy;
  readonly version: number;
  readonly buildings: readonly { readonly id: string; readonly name: string }[];
  readonly readings: readonly ReadingRecord[];
};

/** @throws {ServiceError} `not-found` when the organisation has no such property. */
export function readEnergyProperty(viewer: Viewer, propertyId: string): Promise<EnergyProperty> {
  requireAction(viewer, "record.read");
  return withSql(viewer, async (client) => {
    const record = isId(propertyId) ? await findPropertyEnergy(client, propertyId) : null;
    const property = (await listAccountProperties(client)).find(({ id }) => id === propertyId);
    if (!record || !property) throw new ServiceError("not-found", "There is no such property.");
    return {
      mayEdit: mayDo(viewer.role, "settings.edit"),
      id: property.id,
      name: property.name,
      ...record,
      buildings: await listBuildingsOf(client, propertyId),
      readings: await listReadings(client, [propertyId]),
    };
  });
}

/** Changes what is on record about a property's energy. An edit of an older state is refused. */
export async function savePropertyEnergy(
  viewer: Viewer,
  propertyId: string,
  input: unknown,
): Promise<Outcome<null>> {
  requireAction(viewer, "settings.edit");
  const parsed = parseWith(propertyEnergyFormSchema, input);
  if (!parsed.ok) return parsed;
  const form = parsed.value;
  const energy = propertyEnergySchema.parse({
    meters: { fuel: form.fuelMeter, electricity: form.electricityMeter },
    otherGasAppliances: form.otherGasAppliances,
    conditioning:
      form.heatingFuel === ""
        ? null
        : {
            heatingFuel: form.heatingFuel,
            heatingEfficiency: form.heatingEfficiency,
            coolingEfficiency: form.coolingEfficiency,
          },
    tariffs: {
      fuel: form.fuelTariff && { tariff: form.fuelTariff, source: form.fuelTariffSource },
      electricity: form.electricityTariff && {
        tariff: form.electricityTariff,
        source: form.electricityTariffSource,
      },
    },
    heldFrom: form.heldFrom,
    heldTo: form.heldTo,
    occupiedShare: form.occupied,
    usesCalibration: form.usesCalibration === "yes",
    floorAreaSqFt: form.floorAreaSqFt,
  });
  return withSql(viewer, async (client) => {
    const before = isId(propertyId) ? await findPropertyEnergy(client, propertyId) : null;
    if (!before) return failure({ path: "", message: "There is no such property." });
    const isWritten = await writePropertyEnergy(client, viewer.organizationId, propertyId, {
      energy,
      version: form.version,
      updatedBy: viewer.userId,
    });
    if (!isWritten) {
      return failure({
        path: "",
        message:
          "Somebody has changed this since you opened it. Load the page again; nothing was saved.",
      });
    }
    await writeAudit(client, viewer.organizationId, {
      userId: viewer.userId,
      action: "energy.edit",
      entity: "PropertyEnergy",
      entityId: propertyId,
      before: before.energy,
      after: energy,
    });
    return success(null);
  });
}

/** Adds a meter's reading. One that would count the same energy twice is refused by name. */
export async function addReading(viewer: Viewer, input: unknown): Promise<Outcome<null>> {
  requireAction(viewer, "settings.edit");
  const parsed = parseWith(readingFormSchema, input);
  if (!parsed.ok) return parsed;
  const form = parsed.value;
  const { factor } = READING_UNITS[form.unit as ReadingUnit];
  const reading = {
    propertyId: form.propertyId,
    buildingId: form.buildingId,
    fuel: form.fuel,
    from: form.from,
    to: form.to,
    units: form.amount * factor,
    otherUnits: (form.otherAmount ?? 0) * factor,
    enteredAmount: form.amount,
    enteredUnit: form.unit as ReadingUnit,
    source: form.source,
  };
  return withSql(viewer, async (client) => {
    await lockReadings(client, form.propertyId);
    if (!(await findPropertyEnergy(client, form.propertyId))) {
      return failure({ path: "", message: "There is no such property." });
    }
    const buildings = await listBuildingsOf(client, form.propertyId);
    if (form.buildingId !== null && !buildings.some(({ id }) => id === form.buildingId)) {
      return failure({ path: "buildingId", message: "This building is not of the property." });
    }
    const twice = overlapOf(reading, await listReadings(client, [form.propertyId]));
    if (twice) {
      return failure({
        path: "from",
        message: `These days are read already, from ${twice.from} to ${twice.to}: the same energy would count twice.`,
      });
    }
    const [id] = await insertReadings(client, viewer.organizationId, [reading], viewer.userId);
    await writeAudit(client, viewer.organizationId, {
      userId: viewer.userId,
      action: "reading.add",
      entity: "MeterReading",
      entityId: id ?? null,
      after: reading,
    });
    return success(null);
  });
}

/** Takes a reading out; the log keeps what it was. */
export function removeReading(viewer: Viewer, id: string): Promise<Outcome<null>> {
  requireAction(viewer, "settings.edit");
  return withSql(viewer, async (client) => {
    const before = isId(id) ? await deleteReading(client, id) : null;
    if (!before) return failure({ path: "", message: "This reading is no longer on record." });
    await writeAudit(client, viewer.organizationId, {
      userId: viewer.userId,
      action: "reading.remove",
      entity: "MeterReading",
      entityId: id,
      before,
    });
    return success(null);
  });
}

function isId(text: string): boolean {
  return z.uuid().safeParse(text).success;
}
