import "server-only";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import { listRuns } from "@/lib/data/plans";
import { withSql } from "@/lib/data/tenant";
import {
  countPortfolio,
  countWaitingWork,
  listCostliestRisks,
  type PortfolioCounts,
  type WaitingWork,
  type WorstHeater,
} from "@/lib/data/today";
import type { PlanHeadline } from "./plan-summary";
import { ensureFreshRisk, type RiskFreshness } from "./risk-scoring";
import { requireAction, type Viewer } from "./viewer";

const WORST_SHOWN = 8;

export type TodayView = {
  readonly counts: PortfolioCounts;
  readonly freshness: RiskFreshness;
  readonly worst: readonly WorstHeater[];
  readonly waiting: WaitingWork;
  /** The latest finished plan. */
  readonly plan: {
    readonly id: string;
    readonly name: string;
    readonly gap: number | null;
    readonly headline: PlanHeadline | null;
  } | null;
};

/** What each of the three people needs to see first; bounded work whatever the portfolio's size. */
export function readToday(viewer: Viewer, today: CalendarDay): Promise<TodayView> {
  requireAction(viewer, "record.read");
  return withSql(viewer, async (client) => {
    const freshness = await ensureFreshRisk(client, viewer, today);
    const runs = await listRuns(client);
    const done = runs.find((run) => run.status === "done");
    return {
      counts: await countPortfolio(client),
      freshness,
      worst: await listCostliestRisks(client, WORST_SHOWN),
      waiting: await countWaitingWork(client, today),
      plan: done
        ? {
            id: done.id,
            name: done.scenarioName,
            gap: done.gap,
            headline: (done.headline as PlanHeadline | null) ?? null,
          }
        : null,
    };
  });
}
