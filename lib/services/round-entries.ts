import "server-only";
import { z } from "zod";
import type { Heater } from "@/lib/core/heaters/heater";
import { addDays, type CalendarDay } from "@/lib/core/shared/calendar-day";
import { parseWith } from "@/lib/core/shared/validation";
import {
  type EntryAnswer,
  type HeaterEntry,
  MOST_PHOTO_BYTES,
  MOST_PHOTOS,
  type RoundEntry,
  roundEntrySchema,
  takeBackSchema,
} from "@/lib/core/upkeep/round-entry";
import { writeAudit } from "@/lib/data/audit";
import { loadFleet } from "@/lib/data/fleet";
import {
  type EntryRow,
  findEntry,
  findVisitOfEntry,
  hasPhoto,
  insertEntry,
  insertPhoto,
  type LockedStop,
  listRetirementDays,
  listStandingEntries,
  lockStop,
  markTakenBack,
  readPhotoBytes,
  setStopStatus,
} from "@/lib/data/rounds-entries";
import { type TenantClient, withSql } from "@/lib/data/tenant";
import { takeBackUrgentMatters } from "@/lib/data/upkeep-urgent";
import { deleteVisitsOfEntry } from "@/lib/data/upkeep-visits";
import { redrawPhoto } from "./photo";
import { refreshHeaterRisk } from "./risk-scoring";
import { ServiceError } from "./service-error";
import { keepVisit, whyNotOnDay } from "./upkeep-visits";
import { requireAction, type Viewer } from "./viewer";

const refused = (message: string): EntryAnswer => ({ status: "refused", message });

/**
 * Takes an entry from a phone, once: under a key that is known already nothing is added, whatever came
 * of the first answer. All of it is kept, or none.
 *
 * Somebody else's entry at the same stop, a cancelled round or a heater that has left service is a
 * conflict, which the person decides: nothing is kept until the entry comes again with `keepBoth`.
 */
export async function receiveEntry(
  viewer: Viewer,
  input: unknown,
  today: CalendarDay,
): Promise<EntryAnswer> {
  requireAction(viewer, "visit.record");
  const parsed = parseWith(roundEntrySchema(addDays(today, 1)), input);
  if (!parsed.ok) {
    return refused(parsed.problems.map(({ path, message }) => `${path}: ${message}`).join("; "));
  }
  const entry = parsed.value;
  return withSql(viewer, async (client): Promise<EntryAnswer> => {
    const stop = await lockStop(client, entry.roundId, entry.stopId);
    if (!stop) return refused("This stop is not on record: the round was made anew.");
    const known = await findEntry(client, entry.key);
    if (known) return { status: known.isTakenBack ? "taken-back" : "already" };
    const standing = await listStandingEntries(client, entry.stopId);
    const heaterIds = entry.heaters.map(({ heaterId }) => heaterId);
    const { heaters } = await loadFleet(client, { heaterIds });
    const problem = whyRefused(entry, heaters);
    if (problem !== null) return refused(problem);
    if (!entry.keepBoth) {
      const retired = await listRetirementDays(client, heaterIds);
      const conflict = whyConflict(entry, stop, standing, heaters, retired);
      if (conflict !== null) return { status: "conflict", message: conflict, mayKeepBoth: true };
    }
    await keepEntry(client, viewer, entry);
    await setStopStatus(client, stop, statusAfter(entry.outcome, standing), viewer.name);
    await refreshHeaterRisk(client, viewer, heaterIds, today);
    return { status: "kept", visits: visitsOf(entry).length };
  });
}

/** What is wrong with an entry beyond its form, or null. */
function whyRefused(entry: RoundEntry, heaters: readonly Heater[]): string | null {
  const heaterOf = new Map(heaters.map((heater) => [heater.id, heater]));
  if (new Set(entry.heaters.map(({ heaterId }) => heaterId)).size < entry.heaters.length) {
    return "A heater stands in the entry twice.";
  }
  for (const { heaterId } of entry.heaters) {
    const heater = heaterOf.get(heaterId);
    if (!heater) return "A heater of this entry is not on record any more.";
    const wrongDay = whyNotOnDay(heater.install.earliest, entry.doneOn);
    if (wrongDay !== null) return `${heater.tag}: ${wrongDay}.`;
  }
  return null;
}

/** What has changed since the phone saw the round, in words, or null. */
function whyConflict(
  entry: RoundEntry,
  stop: LockedStop,
  standing: readonly EntryRow[],
  heaters: readonly Heater[],
  retired: ReadonlyMap<string, CalendarDay>,
): string | null {
  // A home that was not opened before and is entered now is no conflict.
  const before = standing.find(({ outcome }) => outcome === "done" || entry.outcome !== "done");
  if (before) {
    const what = before.outcome === "done" ? "recorded this stop as done" : "noted no access here";
    return `${before.personName} has ${what} already.`;
  }
  if (stop.roundStatus === "cancelled") return "The round was cancelled meanwhile.";
  const gone = heaters.find(({ id }) => retired.has(id));
  if (gone && visitsOf(entry).some(({ heaterId }) => heaterId === gone.id)) {
    return `${gone.tag} was taken out of service on ${retired.get(gone.id)}.`;
  }
  return null;
}

/** Heaters of an entry on which something was done or found. */
function visitsOf({ outcome, heaters }: RoundEntry): readonly HeaterEntry[] {
  return heaters.filter(
    (heater) =>
      heater.urgent.length > 0 ||
      (outcome === "done" &&
        (heater.tasks.length > 0 ||
          heater.parts.length > 0 ||
          heater.minutes !== null ||
          heater.tapF !== null ||
          heater.costCents !== null ||
          heater.photos > 0 ||
          heater.note !== null)),
  );
}

async function keepEntry(client: TenantClient, viewer: Viewer, entry: RoundEntry): Promise<void> {
  await insertEntry(client, viewer.organizationId, {
    key: entry.key,
    roundId: entry.roundId,
    stopId: entry.stopId,
    outcome: entry.outcome,
    body: entry,
    enteredBy: viewer.userId,
    personName: viewer.name,
    isTakenBack: false,
  });
  for (const heater of visitsOf(entry)) {
    await keepVisit(
      client,
      viewer,
      {
        heaterId: heater.heaterId,
        visitedOn: entry.doneOn,
        performedBy: viewer.name,
        minutes: heater.minutes,
        note: heater.note ?? entry.note,
        tapF: heater.tapF,
        costCents: heater.costCents,
        tasks: heater.tasks,
        parts: heater.parts,
        idempotencyKey: `${entry.key} ${heater.heaterId}`,
        entryKey: entry.key,
      },
      heater.urgent,
    );
  }
  if (entry.outcome === "no-access") {
    await writeAudit(client, viewer.organizationId, {
      userId: viewer.userId,
      action: "round.no-access",
      entity: "RoundStop",
      entityId: entry.stopId,
      after: { note: entry.note, doneOn: entry.doneOn },
    });
  }
}

/** A stop that was done once stays done, whatever is added. */
function statusAfter(
  outcome: RoundEntry["outcome"],
  standing: readonly EntryRow[],
): RoundEntry["outcome"] {
  return outcome === "done" || standing.some((entry) => entry.outcome === "done")
    ? "done"
    : "no-access";
}

/**
 * Takes an entry back with its visits, photos and the urgent matters it raised. An entry that has not
 * arrived yet is noted as taken back, so that a late copy of it stays without effect.
 */
export async function takeBackEntry(
  viewer: Viewer,
  input: unknown,
  today: CalendarDay,
): Promise<EntryAnswer> {
  requireAction(viewer, "visit.record");
  const parsed = parseWith(takeBackSchema, input);
  if (!parsed.ok) return refused(parsed.problems.map(({ message }) => message).join("; "));
  const { key, roundId, stopId } = parsed.value;
  return withSql(viewer, async (client): Promise<EntryAnswer> => {
    const stop = await lockStop(client, roundId, stopId);
    if (!stop) return refused("This stop is not on record: the round was made anew.");
    const entry = await findEntry(client, key);
    if (entry?.isTakenBack) return { status: "taken-back" };
    if (!entry) {
      await insertEntry(client, viewer.organizationId, {
        key,
        roundId,
        stopId,
        outcome: "taken-back",
        body: {},
        enteredBy: viewer.userId,
        personName: viewer.name,
        isTakenBack: true,
      });
      return { status: "taken-back" };
    }
    if (entry.stopId !== stopId) return refused("This entry belongs to another stop.");
    const isOwn = entry.enteredBy === viewer.userId;
    if (!isOwn && viewer.role === "maintenance") {
      return refused(`${entry.personName} recorded this; they or a manager can take it back.`);
    }
    await markTakenBack(client, key);
    const visits = await deleteVisitsOfEntry(client, key);
    await takeBackUrgentMatters(
      client,
      visits.map(({ id }) => id),
    );
    const [left] = await listStandingEntries(client, stopId);
    const status = left === undefined ? "open" : left.outcome === "done" ? "done" : "no-access";
    await setStopStatus(client, stop, status, left?.personName ?? viewer.name);
    await writeAudit(client, viewer.organizationId, {
      userId: viewer.userId,
      action: "round.take-back",
      entity: "RoundStop",
      entityId: stopId,
      before: { entry: key, visits },
    });
    await refreshHeaterRisk(
      client,
      viewer,
      visits.map(({ heaterId }) => heaterId),
      today,
    );
    return { status: "taken-back" };
  });
}

// ---- photos ----

/** What became of a photo: `waits` until its entry has arrived, `gone` when that was taken back. */
export type PhotoAnswer =
  | { readonly status: "kept" | "already" | "waits" | "gone" }
  | { readonly status: "refused"; readonly message: string };

const photoTarget = z.object({ photoId: z.uuid(), entryKey: z.uuid(), heaterId: z.uuid() });

/**
 * Takes a photo of a visit, once. It is a JPEG by its content, never by what it is called, and is drawn
 * anew before it is kept; the size and the number for one visit are limited.
 */
export function receivePhoto(
  viewer: Viewer,
  target: unknown,
  bytes: Uint8Array,
): Promise<PhotoAnswer> {
  requireAction(viewer, "visit.record");
  const refuse = (message: string) => Promise.resolve<PhotoAnswer>({ status: "refused", message });
  const parsed = parseWith(photoTarget, target);
  if (!parsed.ok) return refuse("The photo does not say what it belongs to.");
  if (bytes.byteLength > MOST_PHOTO_BYTES) return refuse("The photo is larger than 4 MB.");
  const { photoId, entryKey, heaterId } = parsed.value;
  return withSql(viewer, async (client): Promise<PhotoAnswer> => {
    const visit = await findVisitOfEntry(client, entryKey, heaterId);
    if (!visit) {
      const entry = await findEntry(client, entryKey);
      return { status: entry ? "gone" : "waits" };
    }
    if (await hasPhoto(client, photoId)) return { status: "already" };
    if (visit.photos >= MOST_PHOTOS) {
      return { status: "refused", message: `A visit holds ${MOST_PHOTOS} photos at the most.` };
    }
    const picture = redrawPhoto(bytes);
    if (!picture) return { status: "refused", message: "This is not a JPEG picture." };
    await insertPhoto(client, viewer.organizationId, {
      id: photoId,
      visitId: visit.visitId,
      contentType: "image/jpeg",
      bytes: picture,
    });
    return { status: "kept" };
  });
}

/** @throws {ServiceError} `not-found` when the organisation has no such photo. */
export function readPhoto(
  viewer: Viewer,
  photoId: string,
): Promise<{ readonly contentType: string; readonly bytes: Uint8Array }> {
  requireAction(viewer, "record.read");
  return withSql(viewer, async (client) => {
    const isId = z.uuid().safeParse(photoId).success;
    const photo = isId ? await readPhotoBytes(client, photoId) : null;
    if (!photo) throw new ServiceError("not-found", "There is no such photo.");
    return photo;
  });
}
