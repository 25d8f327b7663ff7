import "server-only";
import { z } from "zod";
import type { ScenarioTerms } from "@/lib/core/planning/scenario";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import { failure, type Outcome, success } from "@/lib/core/shared/outcome";
import { writeAudit } from "@/lib/data/audit";
import { enqueueJob } from "@/lib/data/job-queue";
import {
  countHeatersInService,
  endRun,
  findRunProgress,
  insertRun,
  type RunProgress,
} from "@/lib/data/plans";
import { findScenario } from "@/lib/data/scenarios";
import { withSql } from "@/lib/data/tenant";
import type { PlanJob } from "./plan-run";
import { requireAction, type Viewer } from "./viewer";

const isId = (text: string) => z.uuid().safeParse(text).success;

/** The seed of a run when nobody asks for another: runs of the same inputs give the same plan. */
const DEFAULT_SEED = 1;

/**
 * Asks for a plan of a scenario: the run and its job are written in one transaction. The record will
 * be read as of `today`.
 *
 * @param replan an earlier run that this one is made around
 */
export function requestRun(
  viewer: Viewer,
  scenarioId: string,
  today: CalendarDay,
  replan?: ScenarioTerms["replan"],
): Promise<Outcome<{ readonly runId: string }>> {
  requireAction(viewer, "plan.edit");
  return withSql(viewer, async (client) => {
    const scenario = isId(scenarioId) ? await findScenario(client, scenarioId) : null;
    if (!scenario) return failure({ path: "", message: "This scenario is no longer there." });
    const [firstPeriod] = scenario.terms.periods;
    if (!firstPeriod || firstPeriod.start < today) {
      return failure({
        path: "",
        message: `“${scenario.name}” begins on ${firstPeriod?.start}, which has passed. Edit it: it then begins with the next quarter.`,
      });
    }
    if ((await countHeatersInService(client)) === 0) {
      return failure({
        path: "",
        message: "There is no heater in service to plan for. Bring in your heaters first.",
      });
    }
    const runId = await insertRun(client, viewer.organizationId, {
      scenarioId,
      terms: { ...scenario.terms, startDay: today, ...(replan ? { replan } : {}) },
      seed: DEFAULT_SEED,
      requestedBy: viewer.userId,
    });
    const job: PlanJob = { organizationId: viewer.organizationId, runId };
    await enqueueJob(client, "plan", job);
    await writeAudit(client, viewer.organizationId, {
      userId: viewer.userId,
      action: "plan.request",
      entity: "PlanRun",
      entityId: runId,
      after: { scenarioId, ...(replan ? { replan } : {}) },
    });
    return success({ runId });
  });
}

/** Ends a run that waits or is computed. Its worker notices within seconds. */
export function cancelRun(viewer: Viewer, runId: string): Promise<Outcome<null>> {
  requireAction(viewer, "plan.edit");
  return withSql(viewer, async (client) => {
    if (!isId(runId)) return failure({ path: "", message: "This run is not there." });
    const isEnded = await endRun(client, runId, "cancelled", "Cancelled before a plan was found.");
    if (!isEnded) {
      return failure({ path: "", message: "This run had already ended: nothing was changed." });
    }
    await writeAudit(client, viewer.organizationId, {
      userId: viewer.userId,
      action: "plan.cancel",
      entity: "PlanRun",
      entityId: runId,
    });
    return success(null);
  });
}

/** Where a run stands; null when the viewer's organisation has no such run. */
export function readRunProgress(viewer: Viewer, runId: string): Promise<RunProgress | null> {
  requireAction(viewer, "record.read");
  return withSql(viewer, async (client) => (isId(runId) ? findRunProgress(client, runId) : null));
}
