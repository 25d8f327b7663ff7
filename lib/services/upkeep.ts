import "server-only";
import type { Heater } from "@/lib/core/heaters/heater";
import { TASK_KINDS, type TaskKind } from "@/lib/core/heaters/vocabulary";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import { failure, type Outcome, success } from "@/lib/core/shared/outcome";
import { parseWith } from "@/lib/core/shared/validation";
import { DUE_STATES, type DueState, type DueTask, dueTasks } from "@/lib/core/upkeep/due-tasks";
import type { TaskWorth } from "@/lib/core/upkeep/task-worth";
import type { UrgentKind } from "@/lib/core/upkeep/urgent-matters";
import { visitFormSchema } from "@/lib/core/upkeep/visit-form";
import { writeAudit } from "@/lib/data/audit";
import { loadFleet } from "@/lib/data/fleet";
import { withSql } from "@/lib/data/tenant";
import {
  listPropertyChoices,
  loadBuildingPlaces,
  loadFailureProbabilities,
  type PropertyChoice,
} from "@/lib/data/upkeep";
import { takeBackUrgentMatters } from "@/lib/data/upkeep-urgent";
import { deleteVisit } from "@/lib/data/upkeep-visits";
import { refreshHeaterRisk } from "./risk-scoring";
import { ServiceError } from "./service-error";
import { loadUpkeepRules, loadWorkTerms } from "./upkeep-rules";
import { keepVisit, whyNotOnDay } from "./upkeep-visits";
import { loadWorthContext, worthOfDueTask } from "./upkeep-worth";
import { requireAction, type Viewer } from "./viewer";

export type { PropertyChoice } from "@/lib/data/upkeep";

/** What the due list shows at once; the whole portfolio only while it is of a size to be read. */
export const WHOLE_PORTFOLIO_HEATERS = 5_000;
const PAGE_SIZE = 50;

export const DUE_ORDERS = ["day", "worth"] as const;
export type DueOrder = (typeof DUE_ORDERS)[number];

export type DueFilter = {
  readonly propertyId: string | null;
  readonly task: TaskKind | null;
  /** null: everything that is overdue, due or due soon. */
  readonly state: DueState | null;
  readonly order: DueOrder;
  readonly page: number;
};

export type DueLine = DueTask & {
  readonly heaterId: string;
  readonly tag: string;
  readonly home: string | null;
  readonly technology: Heater["technology"];
  readonly building: string;
  readonly property: string;
  readonly failureProbability: number | null;
  /** null where the task guards people and is not priced, or where the list is not ranked by worth. */
  readonly worth: TaskWorth | null;
};

export type DueList = {
  readonly properties: readonly PropertyChoice[];
  /** The property shown; null for the whole portfolio. */
  readonly propertyId: string | null;
  /** True when the portfolio is too large to be listed whole. */
  readonly needsProperty: boolean;
  readonly heaterCount: number;
  readonly counts: Readonly<Record<TaskKind, Readonly<Record<DueState, number>>>>;
  readonly lines: readonly DueLine[];
  readonly lineCount: number;
  readonly page: number;
  readonly pageCount: number;
};

/** The property to look at: the one asked for, or the first where the whole is too large to be read. */
export function choosePropertyId(
  properties: readonly PropertyChoice[],
  asked: string | null,
  wholeUpTo = WHOLE_PORTFOLIO_HEATERS,
): { readonly propertyId: string | null; readonly needsProperty: boolean } {
  const total = properties.reduce((sum, property) => sum + property.heaterCount, 0);
  const needsProperty = total > wholeUpTo;
  const found = properties.find(({ id }) => id === asked)?.id ?? null;
  return {
    needsProperty,
    propertyId: found ?? (needsProperty ? (properties[0]?.id ?? null) : null),
  };
}

/**
 * The work that falls due. By day: what is overdue by the chance of failure, the rest by its day. By
 * worth: what must be put right at once, then what guards people and is overdue, then by the loss that
 * a minute of work avoids.
 */
export async function listDueWork(
  viewer: Viewer,
  filter: DueFilter,
  today: CalendarDay,
): Promise<DueList> {
  requireAction(viewer, "record.read");
  return withSql(viewer, async (client) => {
    const properties = await listPropertyChoices(client);
    const { propertyId, needsProperty } = choosePropertyId(properties, filter.propertyId);
    const fleet = await loadFleet(client, { propertyId });
    const buildings = await loadBuildingPlaces(client, propertyId);
    const failureProbability = await loadFailureProbabilities(client, propertyId);
    const rulesOf = await loadUpkeepRules(client, propertyId);
    const worthContext =
      filter.order === "worth"
        ? await loadWorthContext(client, await loadWorkTerms(client), today)
        : null;
    const counts = emptyCounts();
    const lines: DueLine[] = [];
    for (const heater of fleet.heaters) {
      const building = buildings.get(heater.buildingId);
      const rules = rulesOf(heater.propertyId);
      const lastFindings = fleet.lastFindings.get(heater.id) ?? {};
      for (const task of dueTasks(heater, today, { rules, lastFindings })) {
        counts[task.task][task.state] += 1;
        if (!isWanted(task, filter)) continue;
        lines.push({
          ...task,
          heaterId: heater.id,
          tag: heater.tag,
          home: heater.home.label,
          technology: heater.technology,
          building: building?.name ?? "",
          property: building?.property ?? "",
          failureProbability: failureProbability.get(heater.id) ?? null,
          worth:
            worthContext === null || task.state === "leave-alone"
              ? null
              : worthOfDueTask(heater, task, worthContext, rules),
        });
      }
    }
    lines.sort(filter.order === "worth" ? byWorth : byUrgency);
    const pageCount = Math.max(1, Math.ceil(lines.length / PAGE_SIZE));
    const page = Math.min(Math.max(1, filter.page), pageCount);
    return {
      properties,
      propertyId,
      needsProperty,
      heaterCount: fleet.heaters.length,
      counts,
      lines: lines.slice((page - 1) * PAGE_SIZE, page * PAGE_SIZE),
      lineCount: lines.length,
      page,
      pageCount,
    };
  });
}

function isWanted(task: DueTask, { task: kind, state }: DueFilter): boolean {
  if (kind !== null && task.task !== kind) return false;
  if (state !== null) return task.state === state;
  return task.state === "overdue" || task.state === "due" || task.state === "soon";
}

const compare = <T>(a: T, b: T): number => (a < b ? -1 : a > b ? 1 : 0);

function byUrgency(a: DueLine, b: DueLine): number {
  const rank = DUE_STATES.indexOf(a.state) - DUE_STATES.indexOf(b.state);
  if (rank !== 0) return rank;
  const risk = (b.failureProbability ?? 0) - (a.failureProbability ?? 0);
  const day = compare(a.dueOn, b.dueOn);
  const [first, second] = a.state === "overdue" ? [risk, day] : [day, risk];
  return first || second || compare(a.tag, b.tag) || compare(a.task, b.task);
}

/** Money never goes before people: what is to be put right and what guards people come first. */
function byWorth(a: DueLine, b: DueLine): number {
  const rank = ({ state, intervalMonths, worth }: DueLine) => {
    if (state === "leave-alone") return 5;
    if (intervalMonths === 0) return worth === null ? 0 : 1;
    if (worth !== null) return 3;
    return state === "overdue" ? 2 : 4;
  };
  return (
    rank(a) - rank(b) ||
    (b.worth?.avoidedCentsPerMinute ?? 0) - (a.worth?.avoidedCentsPerMinute ?? 0) ||
    compare(a.dueOn, b.dueOn) ||
    compare(a.tag, b.tag) ||
    compare(a.task, b.task)
  );
}

function emptyCounts(): Record<TaskKind, Record<DueState, number>> {
  const none = () =>
    Object.fromEntries(DUE_STATES.map((state) => [state, 0])) as Record<DueState, number>;
  return Object.fromEntries(TASK_KINDS.map((task) => [task, none()])) as Record<
    TaskKind,
    Record<DueState, number>
  >;
}

export type RecordedTask = {
  readonly visitId: string;
  /** What the entry raised that cannot wait. */
  readonly urgent: readonly UrgentKind[];
};

/** Records a task as done. The same entry sent twice is kept once. */
export async function recordTask(
  viewer: Viewer,
  input: unknown,
  today: CalendarDay,
): Promise<Outcome<RecordedTask>> {
  requireAction(viewer, "visit.record");
  const parsed = parseWith(visitFormSchema(today), input);
  if (!parsed.ok) return parsed;
  const entry = parsed.value;
  return withSql(viewer, async (client) => {
    const [heater] = (await loadFleet(client, { heaterIds: [entry.heaterId] })).heaters;
    if (!heater) return failure({ path: "heaterId", message: "this heater is not on record" });
    const wrongDay = whyNotOnDay(heater.install.earliest, entry.doneOn);
    if (wrongDay !== null) return failure({ path: "doneOn", message: wrongDay });
    const visit = await keepVisit(
      client,
      viewer,
      {
        heaterId: entry.heaterId,
        visitedOn: entry.doneOn,
        performedBy: viewer.name,
        minutes: entry.minutes,
        note: entry.note,
        tapF: null,
        costCents: entry.paidDollars,
        tasks: [{ task: entry.task, finding: entry.finding }],
        parts:
          entry.partName === null
            ? []
            : [{ name: entry.partName, quantity: 1, costCents: entry.partDollars }],
        idempotencyKey: entry.idempotencyKey,
        entryKey: null,
      },
      [],
    );
    if (visit.isNew) await refreshHeaterRisk(client, viewer, [entry.heaterId], today);
    return success({ visitId: visit.visitId, urgent: visit.urgent });
  });
}

/** Takes a recorded visit back, with what it raised; the log keeps what it was. */
export async function takeBackVisit(
  viewer: Viewer,
  visitId: string,
  today: CalendarDay,
): Promise<void> {
  requireAction(viewer, "visit.record");
  await withSql(viewer, async (client) => {
    await takeBackUrgentMatters(client, [visitId]);
    const before = await deleteVisit(client, visitId);
    if (!before) throw new ServiceError("not-found", "This entry is not on record any more.");
    await writeAudit(client, viewer.organizationId, {
      userId: viewer.userId,
      action: "visit.take-back",
      entity: "ServiceVisit",
      entityId: visitId,
      before,
    });
    await refreshHeaterRisk(client, viewer, [before.heaterId], today);
  });
}
