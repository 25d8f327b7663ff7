import "server-only";
import { z } from "zod";
import { SURVEY_ITEMS } from "@/lib/core/heaters/readiness";
import { type CalendarDay, isCalendarDay } from "@/lib/core/shared/calendar-day";
import { failure, type Outcome, success } from "@/lib/core/shared/outcome";
import { parseWith } from "@/lib/core/shared/validation";
import { writeAudit } from "@/lib/data/audit";
import { loadFleet } from "@/lib/data/fleet";
import { countPhotos, deletePhoto, findPhotoBytes, insertPhoto } from "@/lib/data/photos";
import { withSql } from "@/lib/data/tenant";
import { redrawPhoto } from "./photo";
import { MOST_SURVEY_PHOTO_BYTES, MOST_SURVEY_PHOTOS } from "./survey-form";
import { requireAction, type Viewer } from "./viewer";

const photoSchema = z.strictObject({
  /** Made on the phone, so that a picture sent twice is kept once. */
  id: z.uuid(),
  heaterId: z.uuid(),
  item: z.enum(SURVEY_ITEMS).nullable(),
  takenOn: z.string().refine(isCalendarDay, "not a day"),
});

/**
 * Keeps a picture of a heater's place. The browser has drawn it anew as JPEG, and it is drawn anew once
 * more here; anything that is no whole JPEG by its content is refused.
 */
export async function addSurveyPhoto(
  viewer: Viewer,
  input: unknown,
  sent: Uint8Array,
): Promise<Outcome<null>> {
  requireAction(viewer, "heater.edit");
  const parsed = parseWith(photoSchema, input);
  if (!parsed.ok) return parsed;
  if (sent.byteLength > MOST_SURVEY_PHOTO_BYTES) {
    return failure({ path: "photo", message: "The picture is larger than 2 MB." });
  }
  const bytes = redrawPhoto(sent);
  if (!bytes) {
    return failure({ path: "photo", message: "This is not a picture as the survey takes it." });
  }
  const photo = parsed.value;
  return withSql(viewer, async (client) => {
    const { heaters } = await loadFleet(client, { heaterIds: [photo.heaterId] });
    if (heaters.length === 0) {
      return failure({ path: "heaterId", message: "This heater is not on record any more." });
    }
    if ((await countPhotos(client, photo.heaterId)) >= MOST_SURVEY_PHOTOS) {
      return failure({
        path: "photo",
        message: `There are ${MOST_SURVEY_PHOTOS} pictures of this place already. Take one off first.`,
      });
    }
    const isNew = await insertPhoto(client, viewer.organizationId, {
      ...photo,
      takenOn: photo.takenOn as CalendarDay,
      takenBy: viewer.name,
      bytes,
    });
    if (isNew) {
      await writeAudit(client, viewer.organizationId, {
        userId: viewer.userId,
        action: "photo.add",
        entity: "Heater",
        entityId: photo.heaterId,
        after: { photoId: photo.id, item: photo.item, byteCount: bytes.byteLength },
      });
    }
    return success(null);
  });
}

/** The bytes of a picture, JPEG; null when the organisation has none of this id. */
export function readSurveyPhoto(viewer: Viewer, id: string): Promise<Uint8Array | null> {
  requireAction(viewer, "record.read");
  return withSql(viewer, async (client) =>
    z.uuid().safeParse(id).success ? findPhotoBytes(client, id) : null,
  );
}

/** Takes a picture off the record. */
export function removeSurveyPhoto(viewer: Viewer, id: string): Promise<Outcome<null>> {
  requireAction(viewer, "heater.edit");
  return withSql(viewer, async (client) => {
    const photo = z.uuid().safeParse(id).success ? await deletePhoto(client, id) : null;
    if (!photo) return failure({ path: "", message: "The picture is off the record already." });
    await writeAudit(client, viewer.organizationId, {
      userId: viewer.userId,
      action: "photo.remove",
      entity: "Heater",
      entityId: photo.heaterId,
      before: { photoId: id, item: photo.item, takenOn: photo.takenOn, takenBy: photo.takenBy },
    });
    return success(null);
  });
}
