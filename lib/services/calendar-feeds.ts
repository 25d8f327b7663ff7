import "server-only";
import { createHash, randomBytes } from "node:crypto";
import { z } from "zod";
import { addDays, type CalendarDay, daysBetween } from "@/lib/core/shared/calendar-day";
import { failure, type Outcome, success } from "@/lib/core/shared/outcome";
import { type CalendarEvent, writeCalendar } from "@/lib/core/upkeep/calendar";
import { dueTasks } from "@/lib/core/upkeep/due-tasks";
import { clockTime } from "@/lib/core/upkeep/entry-notice";
import { writeAudit } from "@/lib/data/audit";
import {
  type CalendarFeedRow,
  type FeedContent,
  findFeedOwner,
  insertFeed,
  listFeeds,
  noteFeedRead,
  revokeFeed,
} from "@/lib/data/calendar-feeds";
import { loadFleet } from "@/lib/data/fleet";
import { findRound, listRoundsOfPerson, listStops, type RoundSummary } from "@/lib/data/rounds";
import { type TenantClient, withSql } from "@/lib/data/tenant";
import { listPropertyChoices } from "@/lib/data/upkeep";
import { mondayOf } from "./round-form";
import { ServiceError } from "./service-error";
import { loadUpkeepRules } from "./upkeep-rules";
import { requireAction, type Viewer } from "./viewer";

export type { CalendarFeedRow, FeedContent } from "@/lib/data/calendar-feeds";

export const FEED_CONTENTS: readonly FeedContent[] = ["rounds", "rounds-and-due"];

/** Octets of a secret: 256 bits, which nobody guesses. */
const SECRET_OCTETS = 32;
const SECRET_PATTERN = /^[A-Za-z0-9_-]{43}$/;
/** Addresses of one person that work at the same time. */
const MOST_FEEDS = 10;
/** How far back a feed reaches, and how far ahead it says what falls due. */
const DAYS_BACK = 60;
const DUE_WEEKS_AHEAD = 13;

const hashOf = (secret: string): string => createHash("sha256").update(secret).digest("hex");

/** The viewer's own addresses; their secrets are not kept, so none can be shown again. */
export function readFeeds(viewer: Viewer): Promise<readonly CalendarFeedRow[]> {
  requireAction(viewer, "record.read");
  return withSql(viewer, (client) => listFeeds(client, viewer.userId));
}

/**
 * Makes a secret address for the viewer's calendar.
 * @returns the secret, which is shown once and kept only as its hash.
 */
export function makeFeed(
  viewer: Viewer,
  content: string,
): Promise<Outcome<{ readonly secret: string }>> {
  requireAction(viewer, "record.read");
  return withSql(viewer, async (client) => {
    const chosen = FEED_CONTENTS.find((known) => known === content);
    if (!chosen) return failure({ path: "content", message: "Choose what the calendar shows." });
    if ((await listFeeds(client, viewer.userId)).length >= MOST_FEEDS) {
      return failure({
        path: "",
        message: "Take back an address that is not used any more first.",
      });
    }
    const secret = randomBytes(SECRET_OCTETS).toString("base64url");
    const id = await insertFeed(client, viewer.organizationId, {
      userId: viewer.userId,
      secretHash: hashOf(secret),
      content: chosen,
    });
    await writeAudit(client, viewer.organizationId, {
      userId: viewer.userId,
      action: "calendar.make",
      entity: "CalendarFeed",
      entityId: id,
      after: { content: chosen },
    });
    return success({ secret });
  });
}

/** Makes one of the viewer's addresses stop working. */
export function takeBackFeed(viewer: Viewer, feedId: string): Promise<Outcome<null>> {
  requireAction(viewer, "record.read");
  return withSql(viewer, async (client) => {
    const isId = z.uuid().safeParse(feedId).success;
    if (!isId || !(await revokeFeed(client, viewer.userId, feedId))) {
      return failure({ path: "", message: "This address does not work any more." });
    }
    await writeAudit(client, viewer.organizationId, {
      userId: viewer.userId,
      action: "calendar.revoke",
      entity: "CalendarFeed",
      entityId: feedId,
    });
    return success(null);
  });
}

/**
 * The calendar that a secret opens, or null: unknown, taken back, or of somebody who left the
 * organisation. No session is needed; the secret alone is what is asked for.
 *
 * @param baseUrl address of the program, for links in the events.
 */
export async function readCalendar(
  secret: string,
  today: CalendarDay,
  baseUrl: string,
): Promise<string | null> {
  if (!SECRET_PATTERN.test(secret)) return null;
  const owner = await findFeedOwner(hashOf(secret));
  if (!owner) return null;
  return withSql(owner, async (client) => {
    await noteFeedRead(client, owner.feedId);
    const rounds = await listRoundsOfPerson(client, owner.userId, addDays(today, -DAYS_BACK));
    const events: CalendarEvent[] = [];
    for (const round of rounds) events.push(await eventOfRound(client, round, baseUrl));
    if (owner.content === "rounds-and-due") {
      events.push(...(await dueEvents(client, today, baseUrl)));
    }
    return writeCalendar({ name: "Water heater upkeep", events });
  });
}

/** One round as a calendar file. */
export function readRoundCalendar(
  viewer: Viewer,
  roundId: string,
  baseUrl: string,
): Promise<string> {
  requireAction(viewer, "record.read");
  return withSql(viewer, async (client) => {
    const isId = z.uuid().safeParse(roundId).success;
    const round = isId ? await findRound(client, roundId) : null;
    if (!round) throw new ServiceError("not-found", "There is no such round.");
    return writeCalendar({
      name: round.name,
      events: [await eventOfRound(client, round, baseUrl)],
    });
  });
}

async function eventOfRound(
  client: TenantClient,
  round: RoundSummary,
  baseUrl: string,
): Promise<CalendarEvent> {
  const stops = await listStops(client, round.id);
  return {
    uid: `round-${round.id}@tanklore`,
    day: round.plannedOn,
    summary: `Heater round: ${round.property}, ${round.stopCount} homes`,
    description: [
      `From ${clockTime(round.startMinute)}: ${round.name}.`,
      ...stops.map(
        ({ position, building, label, arriveMinute }) =>
          `${position + 1}. ${clockTime(arriveMinute)} ${building}, ${label}`,
      ),
      `${baseUrl}/upkeep/rounds/${round.id}`,
    ].join("\n"),
    location: round.property,
    status: round.status === "cancelled" ? "cancelled" : "confirmed",
    sequence: round.version - 1,
    changedAt: round.changedAt,
    isBusy: true,
  };
}

/** What falls due in each week, by property, as a note on its Monday that leaves the person free. */
async function dueEvents(
  client: TenantClient,
  today: CalendarDay,
  baseUrl: string,
): Promise<readonly CalendarEvent[]> {
  const fleet = await loadFleet(client);
  const rulesOf = await loadUpkeepRules(client);
  const names = new Map((await listPropertyChoices(client)).map(({ id, name }) => [id, name]));
  const first = mondayOf(today);
  const counts = new Map<string, number>();
  for (const heater of fleet.heaters) {
    const rules = rulesOf(heater.propertyId);
    const lastFindings = fleet.lastFindings.get(heater.id) ?? {};
    for (const { dueOn, state } of dueTasks(heater, today, { rules, lastFindings })) {
      const days = daysBetween(first, dueOn);
      if (state === "leave-alone" || days < 0 || days >= 7 * DUE_WEEKS_AHEAD) continue;
      const key = `${heater.propertyId} ${mondayOf(dueOn)}`;
      counts.set(key, (counts.get(key) ?? 0) + 1);
    }
  }
  return [...counts]
    .sort(([a], [b]) => (a < b ? -1 : 1))
    .map(([key, count]): CalendarEvent => {
      const [propertyId, monday] = key.split(" ") as [string, CalendarDay];
      const property = names.get(propertyId) ?? "";
      return {
        uid: `due-${propertyId}-${monday}@tanklore`,
        day: monday,
        summary: `${property}: ${count} ${count === 1 ? "task falls" : "tasks fall"} due this week`,
        description: `${baseUrl}/upkeep?property=${propertyId}`,
        location: property,
        status: "confirmed",
        // The count changes as work is done: today's is the newer one.
        sequence: Math.max(0, daysBetween(monday, today) + 7 * DUE_WEEKS_AHEAD),
        changedAt: `${today}T00:00:00Z`,
        isBusy: false,
      };
    });
}
