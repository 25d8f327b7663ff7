import "server-only";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import type { EntryAnswer } from "@/lib/core/upkeep/round-entry";
import { ServiceError } from "@/lib/services/service-error";
import type { Viewer } from "@/lib/services/viewer";
import { isOwnRequest } from "./own-request";
import { readAtMost } from "./read-at-most";
import { today } from "./today";
import { maybeViewer } from "./viewer";

/** An entry with all its parts is a few kilobytes. */
const MOST_BYTES = 256 * 1024;

/** Answers an entry in JSON: 200 with what became of it, whatever that is; 401 when nobody is signed in. */
export async function answerEntry(
  request: Request,
  receive: (viewer: Viewer, input: unknown, day: CalendarDay) => Promise<EntryAnswer>,
): Promise<Response> {
  if (!isOwnRequest(request)) return Response.json({ error: "not from here" }, { status: 403 });
  const viewer = await maybeViewer();
  if (!viewer) return Response.json({ error: "signed out" }, { status: 401 });
  const owner = request.headers.get("x-entry-owner");
  if (owner !== `${viewer.organizationId} ${viewer.userId}`) {
    return Response.json({ error: "another person is signed in" }, { status: 401 });
  }
  const bytes = await readAtMost(request, MOST_BYTES);
  if (bytes === null) return Response.json({ error: "too large" }, { status: 413 });
  let input: unknown;
  try {
    input = JSON.parse(new TextDecoder().decode(bytes));
  } catch {
    return Response.json({ error: "not JSON" }, { status: 400 });
  }
  try {
    return Response.json(await receive(viewer, input, today()), {
      headers: { "cache-control": "no-store" },
    });
  } catch (error) {
    if (!(error instanceof ServiceError)) throw error;
    return Response.json({ error: error.userMessage }, { status: error.httpStatus });
  }
}
