import type { Care } from "@/lib/core/heaters/heater";
import type { TaskKind } from "@/lib/core/heaters/vocabulary";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import { type Finding, isFindingOf } from "./findings";

/** One task done on a heater, as a visit records it. */
export type CareEntry = {
  readonly task: TaskKind;
  readonly day: CalendarDay;
  readonly finding: string | null;
};

/** What was found when each task was last done; a task whose last finding was not noted is absent. */
export type LastFindings = Readonly<Partial<Record<TaskKind, Finding>>>;

/** Care and last findings of one heater from its entries, in any order. */
export function readCareHistory(entries: readonly CareEntry[]): {
  readonly care: Care;
  readonly lastFindings: LastFindings;
} {
  const byDay = [...entries].sort((a, b) => (a.day < b.day ? -1 : a.day > b.day ? 1 : 0));
  const daysOf = (task: TaskKind) =>
    byDay.filter((entry) => entry.task === task).map((entry) => entry.day);
  const last = new Map(byDay.map((entry) => [entry.task, entry]));
  const lastFindings: Partial<Record<TaskKind, Finding>> = {};
  for (const { task, finding } of last.values()) {
    if (finding !== null && isFindingOf(task, finding)) lastFindings[task] = finding;
  }
  const inspection = last.get("anode-inspection");
  const state = lastFindings["anode-inspection"];
  return {
    care: {
      flushDays: daysOf("flush"),
      anodeReplacementDays: daysOf("anode-replacement"),
      anodeInspection: inspection
        ? {
            day: inspection.day,
            state: state === "protected" || state === "spent" ? state : "unknown",
          }
        : null,
      lastDone: Object.fromEntries([...last].map(([task, entry]) => [task, entry.day])),
    },
    lastFindings,
  };
}
