import "server-only";
import { z } from "zod";
import { TASK_KINDS } from "@/lib/core/heaters/vocabulary";
import { addDays, type CalendarDay, isCalendarDay } from "@/lib/core/shared/calendar-day";
import { failure, type Outcome, success } from "@/lib/core/shared/outcome";
import { parseWith } from "@/lib/core/shared/validation";
import { type ArrangedWeek, arrangeWeek, type WeekStop } from "@/lib/core/upkeep/arrange-week";
import { type DueState, dueTasks } from "@/lib/core/upkeep/due-tasks";
import { groupStops, type HomeStop } from "@/lib/core/upkeep/group-stops";
import { type OrderedStops, orderStops, type Stop } from "@/lib/core/upkeep/order-stops";
import { travelTermsOf, type WorkTerms } from "@/lib/core/upkeep/work-terms";
import { writeAudit } from "@/lib/data/audit";
import { loadFleet } from "@/lib/data/fleet";
import {
  findRound,
  type HomeAccess,
  insertRound,
  listComingRounds,
  listPastRounds,
  listPlannedDoors,
  listRoundPeople,
  listStops,
  loadHomeAccess,
  lockRounds,
  type NewStop,
  type RoundChange,
  type RoundPerson,
  type RoundSummary,
  type RoundTimes,
  reorderStops,
  type StopRow,
  updateRound,
  writeHomeAccess,
} from "@/lib/data/rounds";
import { type TenantClient, withSql } from "@/lib/data/tenant";
import {
  type BuildingPlace,
  listPropertyChoices,
  loadBuildingPlaces,
  loadFailureProbabilities,
  type PropertyChoice,
} from "@/lib/data/upkeep";
import { mayDo } from "./permissions";
import { accessFormSchema, mondayOf, type RoundRequest } from "./round-form";
import { ServiceError } from "./service-error";
import { loadUpkeepRules, loadWorkTerms } from "./upkeep-rules";
import { requireAction, type Viewer } from "./viewer";

export type { RoundPerson, RoundSummary, StopRow } from "@/lib/data/rounds";

/** Tasks of a home that are taken along once somebody is in it. */
const TAKEN_ALONG: ReadonlySet<DueState> = new Set(["overdue", "due", "soon"]);
const REACH: Readonly<Record<RoundRequest["reach"], ReadonlySet<DueState>>> = {
  overdue: new Set(["overdue"]),
  due: new Set(["overdue", "due"]),
  soon: TAKEN_ALONG,
};
const PAST_SHOWN = 50;

// ---- making rounds ----

export type PlannedHome = HomeStop & {
  readonly building: string;
  readonly access: HomeAccess | null;
};

export type RoundsPreview = {
  readonly properties: readonly PropertyChoice[];
  readonly buildings: readonly BuildingPlace[];
  readonly people: readonly RoundPerson[];
  /** The request with every choice made. */
  readonly request: RoundRequest & {
    readonly week: CalendarDay;
    readonly dayMinutes: number;
    readonly noticeDays: number;
  };
  readonly startMinute: number;
  /** Days of the week on which residents cannot be given their notice any more. */
  readonly tooSoon: readonly CalendarDay[];
  readonly homes: ReadonlyMap<string, PlannedHome>;
  readonly week: ArrangedWeek;
  /** Homes with work that stand on a planned round already. */
  readonly alreadyPlanned: number;
};

/** Rounds as they would be made: every home once, by day, in an order with its bound. */
export function previewRounds(
  viewer: Viewer,
  request: RoundRequest,
  today: CalendarDay,
): Promise<RoundsPreview> {
  requireAction(viewer, "visit.record");
  return withSql(viewer, (client) => composeRounds(client, request, today));
}

async function composeRounds(
  client: TenantClient,
  asked: RoundRequest,
  today: CalendarDay,
): Promise<RoundsPreview> {
  const properties = await listPropertyChoices(client);
  const propertyId =
    properties.find(({ id }) => id === asked.property)?.id ?? properties[0]?.id ?? null;
  const buildings = propertyId === null ? new Map() : await loadBuildingPlaces(client, propertyId);
  const work = await loadWorkTerms(client);
  const noticeDays = asked.noticeDays ?? work.noticeDays.value;
  const request = {
    ...asked,
    property: propertyId,
    building: asked.building !== null && buildings.has(asked.building) ? asked.building : null,
    week: mondayOf(asked.week ?? addDays(today, Math.max(7, noticeDays))),
    days: asked.days.length > 0 ? asked.days : [1, 2, 3, 4, 5],
    tasks: asked.tasks.length > 0 ? asked.tasks : [...TASK_KINDS],
    dayMinutes: asked.dayMinutes ?? work.dayMinutes.value,
    noticeDays,
  };
  const days = request.days.map((day) => addDays(request.week, day - 1)).sort();
  const first = addDays(today, noticeDays);
  const { homes, alreadyPlanned, priorities } = await gatherHomes(client, request, work, today);
  const stops = [...homes.values()].map(
    (home): WeekStop => ({
      id: home.id,
      door: home.door,
      workMinutes: home.workMinutes,
      window: windowOf(home.access),
      weekdays: home.access?.weekdays ?? [],
      priority: priorities.get(home.id) ?? 0,
    }),
  );
  return {
    properties,
    buildings: [...buildings.values()],
    people: await listRoundPeople(client),
    request,
    startMinute: work.startMinute.value,
    tooSoon: days.filter((day) => day < first),
    homes,
    alreadyPlanned,
    week: arrangeWeek(stops, {
      travel: travelTermsOf(work),
      startMinute: work.startMinute.value,
      dayMinutes: request.dayMinutes,
      days: days.filter((day) => day >= first),
    }),
  };
}

type Gathered = {
  readonly homes: ReadonlyMap<string, PlannedHome>;
  readonly alreadyPlanned: number;
  readonly priorities: ReadonlyMap<string, number>;
};

/** Homes with work within reach, and how much each matters: what is to be put right at once, then overdue. */
async function gatherHomes(
  client: TenantClient,
  request: Pick<RoundRequest, "property" | "building" | "tasks" | "reach">,
  work: WorkTerms,
  today: CalendarDay,
): Promise<Gathered> {
  const homes = new Map<string, PlannedHome>();
  const priorities = new Map<string, number>();
  if (request.property === null) return { homes, priorities, alreadyPlanned: 0 };
  const fleet = await loadFleet(client, { propertyId: request.property });
  const rules = (await loadUpkeepRules(client, request.property))(request.property);
  const buildings = await loadBuildingPlaces(client, request.property);
  const access = await loadHomeAccess(client, request.property);
  const planned = await listPlannedDoors(client, request.property);
  const risk = await loadFailureProbabilities(client, request.property);
  const heaters = fleet.heaters.filter(
    ({ buildingId }) => request.building === null || buildingId === request.building,
  );
  const plannedUnits = new Set(
    heaters.flatMap(({ id, unitId }) => (planned.has(id) && unitId !== null ? [unitId] : [])),
  );
  let alreadyPlanned = 0;
  const grouped = groupStops(
    heaters.map((heater) => ({
      heater,
      due: dueTasks(heater, today, {
        rules,
        lastFindings: fleet.lastFindings.get(heater.id) ?? {},
      }),
    })),
    { tasks: new Set(request.tasks), states: TAKEN_ALONG, work },
  );
  for (const stop of grouped) {
    if (!stop.tasks.some(({ state }) => REACH[request.reach].has(state))) continue;
    const isPlanned =
      (stop.unitId !== null && plannedUnits.has(stop.unitId)) ||
      stop.tasks.some(({ heaterId }) => planned.has(heaterId));
    if (isPlanned) {
      alreadyPlanned += 1;
      continue;
    }
    homes.set(stop.id, {
      ...stop,
      building: buildings.get(stop.door.buildingId)?.name ?? "",
      access: stop.unitId === null ? null : (access.get(stop.unitId) ?? null),
    });
    const count = (of: (task: HomeStop["tasks"][number]) => boolean) =>
      stop.tasks.filter(of).length;
    const mostAtRisk = Math.max(0, ...stop.tasks.map(({ heaterId }) => risk.get(heaterId) ?? 0));
    priorities.set(
      stop.id,
      100 * count(({ isAtOnce }) => isAtOnce) +
        count(({ state }) => state === "overdue") +
        mostAtRisk,
    );
  }
  return { homes, priorities, alreadyPlanned };
}

function windowOf(access: Pick<HomeAccess, "fromMinute" | "toMinute"> | null): Stop["window"] {
  if (access === null || (access.fromMinute === null && access.toMinute === null)) return null;
  return { fromMinute: access.fromMinute ?? 0, toMinute: access.toMinute ?? 24 * 60 };
}

function timesOf(order: OrderedStops): RoundTimes {
  return {
    finishMinutes: order.finishMinutes,
    finishBoundMinutes: order.bound.finishMinutes,
    travelMinutes: order.travelMinutes,
    travelBoundMinutes: order.bound.travelMinutes,
  };
}

/**
 * Makes the rounds of a request, as they come out now: whoever comes second finds the homes of the
 * first planned already.
 */
export async function createRounds(
  viewer: Viewer,
  request: RoundRequest,
  today: CalendarDay,
): Promise<Outcome<readonly string[]>> {
  requireAction(viewer, "visit.record");
  return withSql(viewer, async (client) => {
    await lockRounds(client, viewer.organizationId);
    const preview = await composeRounds(client, request, today);
    const { property, person, dayMinutes, noticeDays } = preview.request;
    if (property === null || preview.week.rounds.length === 0) {
      return failure({ path: "", message: "No home is left to be planned for these days." });
    }
    if (person !== null && !preview.people.some(({ userId }) => userId === person)) {
      return failure({ path: "person", message: "This person does not go on rounds any more." });
    }
    const made: string[] = [];
    for (const { day, order } of preview.week.rounds) {
      const stops = order.stops.flatMap(({ id, beginMinute }): readonly NewStop[] => {
        const home = preview.homes.get(id);
        return home ? [newStop(home, beginMinute)] : [];
      });
      const round = {
        propertyId: property,
        name: nameOf(order, preview.homes),
        plannedOn: day,
        startMinute: preview.startMinute,
        dayMinutes,
        noticeDays,
        assigneeId: person,
        createdBy: viewer.userId,
        ...timesOf(order),
      };
      const id = await insertRound(client, viewer.organizationId, { ...round, stops });
      await writeAudit(client, viewer.organizationId, {
        userId: viewer.userId,
        action: "round.make",
        entity: "Round",
        entityId: id,
        after: { ...round, stops: stops.length },
      });
      made.push(id);
    }
    return success(made);
  });
}

function newStop(home: PlannedHome, arriveMinute: number): NewStop {
  const window = windowOf(home.access);
  return {
    buildingId: home.door.buildingId,
    unitId: home.unitId,
    label: home.label,
    floor: home.door.floor,
    arriveMinute,
    workMinutes: home.workMinutes,
    fromMinute: window?.fromMinute ?? null,
    toMinute: window?.toMinute ?? null,
    tasks: home.tasks.map(({ heaterId, task, minutes }) => ({ heaterId, task, minutes })),
  };
}

/** The buildings that a round enters, in their order. */
function nameOf(order: OrderedStops, homes: ReadonlyMap<string, PlannedHome>): string {
  const names = [...new Set(order.stops.map(({ id }) => homes.get(id)?.building ?? ""))];
  const shown = names.slice(0, 3).join(", ");
  return names.length > 3 ? `${shown} and ${names.length - 3} more` : shown;
}

// ---- rounds that are made ----

export type RoundsView = {
  readonly coming: readonly RoundSummary[];
  readonly past: readonly RoundSummary[];
  readonly mayEdit: boolean;
};

/** Rounds to come, and those that are over. */
export function readRounds(viewer: Viewer, today: CalendarDay): Promise<RoundsView> {
  requireAction(viewer, "record.read");
  return withSql(viewer, async (client) => ({
    coming: await listComingRounds(client, today),
    past: await listPastRounds(client, today, PAST_SHOWN),
    mayEdit: mayDo(viewer.role, "visit.record"),
  }));
}

export type RoundView = {
  readonly round: RoundSummary;
  readonly stops: readonly StopRow[];
  readonly people: readonly RoundPerson[];
  readonly mayEdit: boolean;
  /** Wording of the entry notices. */
  readonly noticeWording: string;
  /** Last day on which notices can be given in time. */
  readonly noticeBy: CalendarDay;
};

/** @throws {ServiceError} `not-found` when the organisation has no such round. */
export function readRound(viewer: Viewer, roundId: string): Promise<RoundView> {
  requireAction(viewer, "record.read");
  return withSql(viewer, async (client) => {
    const round = await requireRound(client, roundId);
    return {
      round,
      stops: await listStops(client, roundId),
      people: await listRoundPeople(client),
      mayEdit: mayDo(viewer.role, "visit.record"),
      noticeWording: (await loadWorkTerms(client)).noticeWording,
      noticeBy: addDays(round.plannedOn, -round.noticeDays),
    };
  });
}

async function requireRound(
  client: TenantClient,
  roundId: string,
  options?: { readonly forUpdate: boolean },
): Promise<RoundSummary> {
  const isId = z.uuid().safeParse(roundId).success;
  const round = isId ? await findRound(client, roundId, options) : null;
  if (!round) throw new ServiceError("not-found", "There is no such round.");
  return round;
}

/** Changes a round in the hand of `change`, which may refuse; the log keeps both states. */
function alterRound(
  viewer: Viewer,
  roundId: string,
  action: string,
  change: (round: RoundSummary, client: TenantClient) => Promise<Outcome<RoundChange>>,
): Promise<Outcome<null>> {
  requireAction(viewer, "visit.record");
  return withSql(viewer, async (client) => {
    const round = await requireRound(client, roundId, { forUpdate: true });
    const wanted = await change(round, client);
    if (!wanted.ok) return wanted;
    await updateRound(client, roundId, wanted.value);
    await writeAudit(client, viewer.organizationId, {
      userId: viewer.userId,
      action,
      entity: "Round",
      entityId: roundId,
      before: Object.fromEntries(
        Object.keys(wanted.value).map((name) => [name, round[name as keyof RoundSummary]]),
      ),
      after: wanted.value,
    });
    return success(null);
  });
}

const refuse = (path: string, message: string) => failure({ path, message });

/** Gives a round to a person, or to nobody with "". */
export function assignRound(
  viewer: Viewer,
  roundId: string,
  userId: string,
): Promise<Outcome<null>> {
  return alterRound(viewer, roundId, "round.assign", async (round, client) => {
    if (round.status === "cancelled") return refuse("", "The round is cancelled.");
    if (userId === "") return success({ assigneeId: null });
    const people = await listRoundPeople(client);
    return people.some((person) => person.userId === userId)
      ? success({ assigneeId: userId })
      : refuse("person", "This person does not go on rounds any more.");
  });
}

/** Moves a round to another day; notices that were given name the old one and count no more. */
export function moveRound(viewer: Viewer, roundId: string, day: string): Promise<Outcome<null>> {
  return alterRound(viewer, roundId, "round.move", async (round) => {
    if (round.status !== "planned") return refuse("day", "Only a planned round can be moved.");
    if (!isCalendarDay(day)) return refuse("day", "Enter the day.");
    return success({ plannedOn: day, noticesGivenOn: null });
  });
}

/** Cancels a round; its homes can be planned anew. What was recorded on it stays. */
export function cancelRound(viewer: Viewer, roundId: string): Promise<Outcome<null>> {
  return alterRound(viewer, roundId, "round.cancel", async (round) =>
    round.status === "planned"
      ? success({ status: "cancelled" })
      : refuse("", "Only a planned round can be cancelled."),
  );
}

/** Takes a cancelled or finished round up again. */
export function reopenRound(viewer: Viewer, roundId: string): Promise<Outcome<null>> {
  return alterRound(viewer, roundId, "round.reopen", async (round) =>
    round.status === "planned"
      ? refuse("", "The round is open already.")
      : success({ status: "planned" }),
  );
}

/** Ends a round with stops left open: their work stays due. */
export function endRound(viewer: Viewer, roundId: string): Promise<Outcome<null>> {
  return alterRound(viewer, roundId, "round.end", async (round) =>
    round.status === "planned"
      ? success({ status: "done" })
      : refuse("", "Only a planned round can be ended."),
  );
}

/** Notes that the entry notices were given, or with null that they were not. */
export function noteNotices(
  viewer: Viewer,
  roundId: string,
  givenOn: CalendarDay | null,
): Promise<Outcome<null>> {
  return alterRound(viewer, roundId, "round.notices", async () =>
    success({ noticesGivenOn: givenOn }),
  );
}

/** Looks for a better order, by the homes' access as it is now. */
export async function reorderRound(viewer: Viewer, roundId: string): Promise<Outcome<null>> {
  requireAction(viewer, "visit.record");
  return withSql(viewer, async (client) => {
    const round = await requireRound(client, roundId, { forUpdate: true });
    const rows = await listStops(client, roundId);
    if (round.status !== "planned" || rows.some(({ status }) => status !== "open")) {
      return refuse("", "A round under way keeps its order.");
    }
    const order = orderStops(
      rows.map((row) => ({
        id: row.id,
        door: { buildingId: row.buildingId, floor: row.floor },
        workMinutes: row.workMinutes,
        window: windowOf(row.access),
      })),
      { travel: travelTermsOf(await loadWorkTerms(client)), startMinute: round.startMinute },
    );
    const rowOf = new Map(rows.map((row) => [row.id, row]));
    await reorderStops(
      client,
      roundId,
      order.stops.map(({ id, beginMinute }) => {
        const window = windowOf(rowOf.get(id)?.access ?? null);
        return {
          id,
          arriveMinute: beginMinute,
          fromMinute: window?.fromMinute ?? null,
          toMinute: window?.toMinute ?? null,
        };
      }),
      timesOf(order),
    );
    await writeAudit(client, viewer.organizationId, {
      userId: viewer.userId,
      action: "round.reorder",
      entity: "Round",
      entityId: roundId,
      before: timesOf({
        ...order,
        finishMinutes: round.finishMinutes,
        travelMinutes: round.travelMinutes,
        bound: { finishMinutes: round.finishBoundMinutes, travelMinutes: round.travelBoundMinutes },
      }),
      after: timesOf(order),
    });
    return success(null);
  });
}

/** Sets when a home may be entered; rounds made from now on keep to it. */
export async function saveHomeAccess(viewer: Viewer, input: unknown): Promise<Outcome<null>> {
  requireAction(viewer, "visit.record");
  const parsed = parseWith(accessFormSchema, input);
  if (!parsed.ok) return parsed;
  const { unitId, access } = parsed.value;
  return withSql(viewer, async (client) => {
    const isThere = await writeHomeAccess(
      client,
      viewer.organizationId,
      unitId,
      access,
      viewer.name,
    );
    if (!isThere) return refuse("", "There is no such home any more.");
    await writeAudit(client, viewer.organizationId, {
      userId: viewer.userId,
      action: "home.access",
      entity: "Unit",
      entityId: unitId,
      after: access,
    });
    return success(null);
  });
}
