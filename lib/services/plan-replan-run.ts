import { lockOfCommitment } from "@/lib/core/planning/plan-life";
import type { PlanAssignment } from "@/lib/core/planning/problem";
import type { ScenarioTerms } from "@/lib/core/planning/scenario";
import { calendarDay } from "@/lib/core/shared/calendar-day";
import { listBareLines } from "@/lib/data/plan-lives";
import { findRun } from "@/lib/data/plans";

/** What a plan made around an earlier one must know of that. */
export type EarlierPlan = {
  /** Its lines in the periods of the new plan: what a line is kept or moved from. */
  readonly lines: readonly PlanAssignment[];
  /** Heaters whose line is done: not planned for again, though the register may still show them. */
  readonly done: ReadonlySet<string>;
};

/**
 * An earlier plan as a new run starts from it. Lines that a person dropped are not kept to; one whose
 * period has passed is looked for in the first period, one beyond the horizon is left out.
 */
export async function loadEarlierPlan(
  client: Parameters<typeof findRun>[0],
  runId: string,
  periods: ScenarioTerms["periods"],
): Promise<EarlierPlan> {
  const run = await findRun(client, runId);
  if (!run) throw new Error("the plan that this one is made around is no longer there");
  const starts = new Map(run.terms.periods.map(({ id, start }) => [id, calendarDay(start)]));
  const done = new Set<string>();
  const lines: PlanAssignment[] = [];
  for (const { heaterId, optionCode, period, life } of await listBareLines(client, runId)) {
    if (life === "done") done.add(heaterId);
    if (life === "done" || life === "dropped") continue;
    const start = period === null ? undefined : starts.get(period);
    if (optionCode === null || start === undefined) {
      lines.push({ heater: heaterId, never: true });
      continue;
    }
    const line = lockOfCommitment({ heaterId, optionCode, start }, periods);
    if (line) lines.push({ heater: heaterId, ...line });
  }
  return { lines, done };
}
