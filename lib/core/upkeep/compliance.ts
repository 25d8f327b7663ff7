import type { TaskKind } from "@/lib/core/heaters/vocabulary";
import {
  addDays,
  addMonths,
  type CalendarDay,
  dayFromParts,
  monthOf,
  yearOf,
} from "@/lib/core/shared/calendar-day";
import { type CareEntry, readCareHistory } from "./care-history";
import { type DueTask, dueTasks, stateOf, type UpkeepHeater } from "./due-tasks";
import type { UpkeepRules } from "./rules";

/** A heater with everything that was ever done on it, so that a past day can be looked at. */
export type HeaterRecord = {
  readonly heater: UpkeepHeater;
  readonly entries: readonly CareEntry[];
  /** First day on which its care would have been recorded. */
  readonly recordedFrom: CalendarDay;
  /** Day it left service; null in service. */
  readonly retiredOn: CalendarDay | null;
};

/** Tasks in date on a day, of all that were asked for. */
export type Compliance = {
  readonly day: CalendarDay;
  readonly tasks: number;
  readonly inDate: number;
  readonly byTask: Readonly<
    Partial<Record<TaskKind, { readonly tasks: number; readonly inDate: number }>>
  >;
};

/** Share in date, 0 to 1; null where nothing was asked for. */
export function complianceShare({
  tasks,
  inDate,
}: Pick<Compliance, "tasks" | "inDate">): number | null {
  return tasks === 0 ? null : inDate / tasks;
}

/**
 * How much of the care was in date on each of some days: of the tasks of the heaters that stood then,
 * those not overdue. Only what was on record by that day counts; tanks to be left alone are asked for
 * nothing. The intervals are those of today's rules.
 *
 * @param days rising.
 */
export function complianceOn(
  records: readonly HeaterRecord[],
  days: readonly CalendarDay[],
  rulesOf: (record: HeaterRecord) => UpkeepRules,
): readonly Compliance[] {
  const tallies = days.map((day) => new Tally(day));
  for (const record of records) {
    const rules = rulesOf(record);
    const entries = [...record.entries].sort((a, b) => (a.day < b.day ? -1 : 1));
    let known = -1;
    let due: readonly DueTask[] = [];
    for (const tally of tallies) {
      if (!stoodOn(record, tally.day)) continue;
      let count = 0;
      while (count < entries.length && entries[count].day <= tally.day) count += 1;
      // Due days do not move with the day they are asked on. Only whether a tank that was never
      // opened is left alone does.
      const wasOpened = entries.slice(0, count).some(({ task }) => OPENING_TASKS.has(task));
      if (count !== known || !wasOpened) {
        const { care, lastFindings } = readCareHistory(entries.slice(0, count));
        due = dueTasks({ ...record.heater, care }, tally.day, { rules, lastFindings });
        known = count;
      }
      for (const task of due) tally.add(task, rules);
    }
  }
  return tallies;
}

const OPENING_TASKS: ReadonlySet<TaskKind> = new Set([
  "flush",
  "anode-inspection",
  "anode-replacement",
]);

class Tally implements Compliance {
  tasks = 0;
  inDate = 0;
  readonly byTask: Partial<Record<TaskKind, { tasks: number; inDate: number }>> = {};

  constructor(readonly day: CalendarDay) {}

  add({ task, state, dueOn }: DueTask, rules: UpkeepRules): void {
    if (state === "leave-alone") return;
    const isInDate = stateOf(dueOn, this.day, rules) !== "overdue";
    const count = this.byTask[task] ?? { tasks: 0, inDate: 0 };
    count.tasks += 1;
    count.inDate += isInDate ? 1 : 0;
    this.byTask[task] = count;
    this.tasks += 1;
    this.inDate += isInDate ? 1 : 0;
  }
}

function stoodOn({ heater, recordedFrom, retiredOn }: HeaterRecord, day: CalendarDay): boolean {
  return (
    heater.install.latest <= day && recordedFrom <= day && (retiredOn === null || retiredOn > day)
  );
}

/** The last days of the `count` months before the one of `today`, then `today` itself, rising. */
export function monthEnds(today: CalendarDay, count: number): readonly CalendarDay[] {
  const first = dayFromParts(yearOf(today), monthOf(today), 1);
  const ends = Array.from({ length: count }, (_, index) =>
    addDays(addMonths(first, index - count + 1), -1),
  );
  return [...ends, today];
}
