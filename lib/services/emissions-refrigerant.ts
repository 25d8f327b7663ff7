import "server-only";
import { z } from "zod";
import {
  chargeOf,
  REFRIGERANT_EVENT_LABELS,
  type RefrigerantEvent,
} from "@/lib/core/emissions/refrigerant-account";
import { isHeatPump } from "@/lib/core/heaters/vocabulary";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import { failure, type Outcome, type Problem, success } from "@/lib/core/shared/outcome";
import { parseWith } from "@/lib/core/shared/validation";
import { writeAudit } from "@/lib/data/audit";
import {
  deleteRefrigerantEntry,
  insertRefrigerantEntry,
  listRefrigerantEntries,
  lockHeatersByTag,
  lockRefrigerantEntry,
  type RefrigerantEntry,
  type RefrigerantHeater,
  refrigerantEntriesOf,
} from "@/lib/data/refrigerant-log";
import { withSql } from "@/lib/data/tenant";
import { mayDo } from "./permissions";
import { refrigerantFormSchema } from "./refrigerant-form";
import { requireAction, type Viewer } from "./viewer";

/** Entries that are listed at once. */
const LISTED = 200;
/** Weights are compared to a tenth of a gram, since pounds and ounces do not come out even. */
const SAME_KG = 1e-4;

export type RefrigerantView = {
  readonly mayEdit: boolean;
  readonly entries: readonly RefrigerantEntry[];
};

/** The refrigerant log, the latest first. */
export function readRefrigerantLog(viewer: Viewer): Promise<RefrigerantView> {
  requireAction(viewer, "record.read");
  return withSql(viewer, async (client) => ({
    mayEdit: mayDo(viewer.role, "settings.edit"),
    entries: await listRefrigerantEntries(client, { limit: LISTED }),
  }));
}

/** Notes what was charged, topped up or recovered. The accounts to come count it. */
export async function addRefrigerantEntry(
  viewer: Viewer,
  input: unknown,
  today: CalendarDay,
): Promise<Outcome<null>> {
  requireAction(viewer, "settings.edit");
  const parsed = parseWith(refrigerantFormSchema, input);
  if (!parsed.ok) return parsed;
  const { tag, ...form } = parsed.value;
  return withSql(viewer, async (client) => {
    const heaters = await lockHeatersByTag(client, tag);
    const [heater] = heaters;
    if (!heater) return failure({ path: "tag", message: `No heater has the tag ${tag}.` });
    if (heaters.length > 1) {
      return failure({ path: "tag", message: `${heaters.length} heaters have the tag ${tag}.` });
    }
    const entry = { ...form, heaterId: heater.id };
    const log = await refrigerantEntriesOf(client, heater.id);
    const problem = problemOf(heater, entry, log, today);
    if (problem) return failure(problem);
    const id = await insertRefrigerantEntry(client, viewer.organizationId, entry, viewer.userId);
    await writeAudit(client, viewer.organizationId, {
      userId: viewer.userId,
      action: "refrigerant.record",
      entity: "RefrigerantEvent",
      entityId: id,
      after: { ...entry, tag: heater.tag },
    });
    return success(null);
  });
}

/** Takes an entry back; kept accounts keep what they used. */
export function removeRefrigerantEntry(viewer: Viewer, id: string): Promise<Outcome<null>> {
  requireAction(viewer, "settings.edit");
  return withSql(viewer, async (client) => {
    const entry = isId(id) ? await lockRefrigerantEntry(client, id) : null;
    if (!entry) return failure({ path: "", message: "This entry is no longer on record." });
    const others = (await refrigerantEntriesOf(client, entry.heaterId)).filter(
      (other) => other.id !== id,
    );
    if (entry.kind === "charge" && others.some(({ kind }) => kind !== "charge")) {
      const message = "Take back what was topped up and recovered first: it is weighed against it.";
      return failure({ path: "", message });
    }
    await deleteRefrigerantEntry(client, id);
    await writeAudit(client, viewer.organizationId, {
      userId: viewer.userId,
      action: "refrigerant.takeBack",
      entity: "RefrigerantEvent",
      entityId: id,
      before: entry,
    });
    return success(null);
  });
}

/** Why an entry does not balance with the heater and its log; null when it does. */
function problemOf(
  heater: RefrigerantHeater,
  entry: RefrigerantEvent,
  log: readonly RefrigerantEvent[],
  today: CalendarDay,
): Problem | null {
  if (!isHeatPump(heater.technology)) {
    return { path: "tag", message: `${heater.tag} is not a heat pump and holds no refrigerant.` };
  }
  if (entry.day > today) return { path: "day", message: "This day is still to come." };
  if (entry.kind === "charge") {
    return log.length === 0
      ? null
      : { path: "kind", message: "A charge is on record. Take it back to enter another." };
  }
  const charge = chargeOf(heater, log);
  if (!charge || charge.isAssumed) {
    const message = `Enter “${REFRIGERANT_EVENT_LABELS.charge}” first: losses are weighed against it.`;
    return { path: "kind", message };
  }
  if (entry.refrigerant !== charge.refrigerant) {
    return { path: "refrigerant", message: `The charge on record is ${charge.refrigerant}.` };
  }
  const chargedOn = log.find(({ kind }) => kind === "charge")?.day;
  if (chargedOn && entry.day < chargedOn) {
    return { path: "day", message: "This is before the charge on record." };
  }
  if (entry.kind !== "recovery") return null;
  const recovered = log
    .filter(({ kind }) => kind === "recovery")
    .reduce((sum, { kg }) => sum + kg, entry.kg);
  return recovered > charge.kg + SAME_KG
    ? { path: "kilograms", message: "More would be recovered than was charged." }
    : null;
}

const isId = (text: string) => z.uuid().safeParse(text).success;
