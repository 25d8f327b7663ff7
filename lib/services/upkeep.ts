import "server-only";
import type { Heater } from "@/lib/core/heaters/heater";
import { TASK_KINDS, type TaskKind } from "@/lib/core/heaters/vocabulary";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import { failure, type Outcome, success } from "@/lib/core/shared/outcome";
import { parseWith } from "@/lib/core/shared/validation";
import { DUE_STATES, type DueState, type DueTask, dueTasks } from "@/lib/core/upkeep/due-tasks";
import { visitFormSchema } from "@/lib/core/upkeep/visit-form";
import { writeAudit } from "@/lib/data/audit";
import { loadFleet } from "@/lib/data/fleet";
import { withSql } from "@/lib/data/tenant";
import {
  deleteVisit,
  insertVisit,
  listPropertyChoices,
  loadDueContext,
  type PropertyChoice,
} from "@/lib/data/upkeep";
import { ServiceError } from "./service-error";
import { requireAction, type Viewer } from "./viewer";

/** What the due list shows at once; the whole portfolio only while it is of a size to be read. */
const WHOLE_PORTFOLIO_HEATERS = 5_000;
const PAGE_SIZE = 50;

export type DueFilter = {
  readonly propertyId: string | null;
  readonly task: TaskKind | null;
  /** null: everything that is overdue, due or due soon. */
  readonly state: DueState | null;
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

/** The work that falls due: what is overdue by the chance of failure, the rest by its day. */
export async function listDueWork(
  viewer: Viewer,
  filter: DueFilter,
  today: CalendarDay,
): Promise<DueList> {
  requireAction(viewer, "record.read");
  return withSql(viewer, async (client) => {
    const properties = await listPropertyChoices(client);
    const total = properties.reduce((sum, property) => sum + property.heaterCount, 0);
    const needsProperty = total > WHOLE_PORTFOLIO_HEATERS;
    const asked = properties.find((property) => property.id === filter.propertyId)?.id ?? null;
    const propertyId = asked ?? (needsProperty ? (properties[0]?.id ?? null) : null);
    const [fleet, context] = [
      await loadFleet(client, { propertyId }),
      await loadDueContext(client, propertyId),
    ];
    const counts = emptyCounts();
    const lines: DueLine[] = [];
    for (const heater of fleet.heaters) {
      const building = context.buildings.get(heater.buildingId);
      for (const task of dueTasks(heater, today, {
        lastFindings: fleet.lastFindings.get(heater.id) ?? {},
      })) {
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
          failureProbability: context.failureProbability.get(heater.id) ?? null,
        });
      }
    }
    lines.sort(byUrgency);
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

const STATE_ORDER = new Map(DUE_STATES.map((state, index) => [state, index]));

/** What is overdue can be done any day: there the likelier failure comes first, else the earlier day. */
function byUrgency(a: DueLine, b: DueLine): number {
  if (a.state !== b.state) return (STATE_ORDER.get(a.state) ?? 0) - (STATE_ORDER.get(b.state) ?? 0);
  const risk = (b.failureProbability ?? 0) - (a.failureProbability ?? 0);
  const day = a.dueOn < b.dueOn ? -1 : a.dueOn > b.dueOn ? 1 : 0;
  const [first, second] = a.state === "overdue" ? [risk, day] : [day, risk];
  return first || second || (a.tag < b.tag ? -1 : 1);
}

function emptyCounts(): Record<TaskKind, Record<DueState, number>> {
  const none = () =>
    Object.fromEntries(DUE_STATES.map((state) => [state, 0])) as Record<DueState, number>;
  return Object.fromEntries(TASK_KINDS.map((task) => [task, none()])) as Record<
    TaskKind,
    Record<DueState, number>
  >;
}

/** Records a task as done. The same entry sent twice is kept once. */
export async function recordTask(
  viewer: Viewer,
  input: unknown,
  today: CalendarDay,
): Promise<Outcome<{ readonly visitId: string }>> {
  requireAction(viewer, "visit.record");
  const parsed = parseWith(visitFormSchema(today), input);
  if (!parsed.ok) return parsed;
  const entry = parsed.value;
  return withSql(viewer, async (client) => {
    const [heater] = (await loadFleet(client, { heaterIds: [entry.heaterId] })).heaters;
    if (heater && entry.doneOn < heater.install.earliest) {
      return failure({
        path: "doneOn",
        message: `the heater was installed on ${heater.install.earliest} or later`,
      });
    }
    const visit = await insertVisit(client, viewer.organizationId, entry, viewer.name);
    if (!visit) return failure({ path: "heaterId", message: "this heater is not on record" });
    if (visit.isNew) {
      await writeAudit(client, viewer.organizationId, {
        userId: viewer.userId,
        action: "visit.record",
        entity: "ServiceVisit",
        entityId: visit.visitId,
        after: entry,
      });
    }
    return success({ visitId: visit.visitId });
  });
}

/** Takes a recorded visit back; the log keeps what it was. */
export async function takeBackVisit(viewer: Viewer, visitId: string): Promise<void> {
  requireAction(viewer, "visit.record");
  await withSql(viewer, async (client) => {
    const before = await deleteVisit(client, visitId);
    if (!before) throw new ServiceError("not-found", "This entry is not on record any more.");
    await writeAudit(client, viewer.organizationId, {
      userId: viewer.userId,
      action: "visit.take-back",
      entity: "ServiceVisit",
      entityId: visitId,
      before,
    });
  });
}
