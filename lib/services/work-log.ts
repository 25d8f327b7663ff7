import "server-only";
import { z } from "zod";
import { csvFile, csvLine } from "@/lib/core/exchange/csv";
import { TASK_LABELS, TECHNOLOGY_LABELS, type Technology } from "@/lib/core/heaters/vocabulary";
import {
  addYears,
  type CalendarDay,
  calendarDay,
  isCalendarDay,
} from "@/lib/core/shared/calendar-day";
import { FINDING_LABELS, type Finding } from "@/lib/core/upkeep/findings";
import { withSql } from "@/lib/data/tenant";
import { listPropertyChoices, type PropertyChoice } from "@/lib/data/upkeep";
import { type LogFilter, type LogRow, listLogNames, readWorkLog } from "@/lib/data/upkeep-visits";
import { loadUpkeepCosts, type TechnologyCost } from "./upkeep-costs";
import { loadWorkTerms } from "./upkeep-rules";
import { requireAction, type Viewer } from "./viewer";

export type { LogRow } from "@/lib/data/upkeep-visits";

export const WORK_LOG_PAGE_SIZE = 50;
const CSV_PAGE_SIZE = 500;

const day = z.string().refine(isCalendarDay).transform(calendarDay);

/** What the address of the log may ask for; what cannot be read counts as not asked. */
export const workLogQuerySchema = z.object({
  property: z.uuid().nullable().catch(null),
  person: z.string().min(1).max(200).nullable().catch(null),
  from: day.nullable().catch(null),
  to: day.nullable().catch(null),
  page: z.coerce.number().int().min(1).max(1_000_000).catch(1),
});
export type WorkLogQuery = z.output<typeof workLogQuerySchema>;

/** The filter in force: the last twelve months unless days are asked for. */
export function filterOf(query: WorkLogQuery, today: CalendarDay): LogFilter {
  return {
    propertyId: query.property,
    performedBy: query.person,
    from: query.from ?? addYears(today, -1),
    to: query.to ?? today,
  };
}

export type WorkLogView = {
  readonly properties: readonly PropertyChoice[];
  readonly people: readonly string[];
  readonly filter: LogFilter;
  readonly rows: readonly LogRow[];
  readonly page: number;
  readonly hasMore: boolean;
  /** By technology, over the days of the filter and everybody's work. */
  readonly costs: readonly TechnologyCost[];
  readonly labourCentsPerHour: number;
  readonly isLabourAssumed: boolean;
};

/** The work log with parts, costs and minutes, and what upkeep costs a heater a year. */
export function readLogOfWork(
  viewer: Viewer,
  query: WorkLogQuery,
  today: CalendarDay,
): Promise<WorkLogView> {
  requireAction(viewer, "record.read");
  return withSql(viewer, async (client) => {
    const filter = filterOf(query, today);
    const rows = await readWorkLog(client, filter, {
      limit: WORK_LOG_PAGE_SIZE + 1,
      offset: (query.page - 1) * WORK_LOG_PAGE_SIZE,
    });
    const { labourCentsPerHour } = await loadWorkTerms(client);
    return {
      properties: await listPropertyChoices(client),
      people: await listLogNames(client),
      filter,
      rows: rows.slice(0, WORK_LOG_PAGE_SIZE),
      page: query.page,
      hasMore: rows.length > WORK_LOG_PAGE_SIZE,
      costs: await loadUpkeepCosts(client, { ...filter, performedBy: null }),
      labourCentsPerHour: labourCentsPerHour.value,
      isLabourAssumed: labourCentsPerHour.evidence === "assumed",
    };
  });
}

/** A task with what was found, in words. */
export function taskInWords({ task, finding }: LogRow["tasks"][number]): string {
  const found = finding === null ? undefined : FINDING_LABELS[finding as Finding];
  return found ? `${TASK_LABELS[task]}: ${found.toLowerCase()}` : TASK_LABELS[task];
}

const CSV_HEADING = [
  "Day",
  "Person",
  "Heater",
  "Technology",
  "Property",
  "Building",
  "Home",
  "Tasks and findings",
  "Minutes",
  "Tap, degrees F",
  "Parts",
  "Parts, dollars",
  "Parts without a price",
  "Paid to others, dollars",
  "Note",
];

/** The log as comma-separated values, page by page. */
export async function* workLogCsv(
  viewer: Viewer,
  query: WorkLogQuery,
  today: CalendarDay,
): AsyncGenerator<string> {
  requireAction(viewer, "record.read");
  yield* csvFile(CSV_HEADING, []);
  const filter = filterOf(query, today);
  for (let offset = 0; ; offset += CSV_PAGE_SIZE) {
    const rows = await withSql(viewer, (client) =>
      readWorkLog(client, filter, { limit: CSV_PAGE_SIZE, offset }),
    );
    for (const row of rows) yield csvLine(csvCells(row));
    if (rows.length < CSV_PAGE_SIZE) return;
  }
}

function csvCells(row: LogRow): readonly (string | number | null)[] {
  const priced = row.parts.filter(({ costCents }) => costCents !== null);
  const partsCents = priced.reduce((sum, { costCents }) => sum + (costCents ?? 0), 0);
  return [
    row.visitedOn,
    row.performedBy,
    row.tag,
    TECHNOLOGY_LABELS[row.technology as Technology] ?? row.technology,
    row.property,
    row.building,
    row.home,
    row.tasks.map(taskInWords).join("; "),
    row.minutes,
    row.tapF,
    row.parts.map(({ name, quantity }) => `${quantity} × ${name}`).join("; "),
    priced.length > 0 ? partsCents / 100 : null,
    row.parts.length - priced.length,
    row.costCents === null ? null : row.costCents / 100,
    row.note,
  ];
}
