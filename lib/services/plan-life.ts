import "server-only";
import { z } from "zod";
import { csvFile } from "@/lib/core/exchange/csv";
import {
  brokenCommitments,
  LINE_ACTS,
  LINE_LIFE_LABELS,
  type LineLife,
  stepLine,
} from "@/lib/core/planning/plan-life";
import type { ScenarioTerms } from "@/lib/core/planning/scenario";
import {
  type LineVariance,
  lineVariance,
  totalVariance,
  type VarianceLine,
  type VarianceTotal,
  varianceBy,
} from "@/lib/core/planning/variance";
import { type CalendarDay, calendarDay, isCalendarDay } from "@/lib/core/shared/calendar-day";
import { parseCents } from "@/lib/core/shared/money";
import { failure, type Outcome, type Problem, success } from "@/lib/core/shared/outcome";
import { writeAudit } from "@/lib/data/audit";
import {
  approveRun,
  carryCommitments,
  findApproval,
  findPlanInForce,
  type LifeLine,
  listBareLines,
  listCommitments,
  listLifeLines,
  lockLines,
  type PlanApproval,
  readFrozen,
  withdrawRun,
  writeLineSteps,
} from "@/lib/data/plan-lives";
import { findRun, listUpgrades, type RunRecord } from "@/lib/data/plans";
import { withSql } from "@/lib/data/tenant";
import { mayDo } from "./permissions";
import { recomputePlan } from "./plan-frozen";
import type { PlanSummary } from "./plan-summary";
import { requireAction, type Viewer } from "./viewer";

const isId = (text: string) => z.uuid().safeParse(text).success;

/** Named in a problem before the rest is counted. */
const NAMED = 5;

const NOT_THERE: Problem = { path: "", message: "This plan is not there." };
const CHANGED: Problem = {
  path: "",
  message: "Someone changed this plan meanwhile. Look at it again before you decide.",
};

export type LifeRow = LifeLine & {
  readonly budgetYear: string;
  readonly variance: LineVariance;
};

export type LifePage = {
  readonly mayEdit: boolean;
  readonly run: RunRecord;
  readonly approval: PlanApproval;
  /** Another plan that is in force; null when none is, or this one. */
  readonly otherInForce: { readonly id: string; readonly scenarioName: string } | null;
  readonly optionNames: Readonly<Record<string, string>>;
  readonly rows: readonly LifeRow[];
  readonly total: VarianceTotal;
  readonly byYear: readonly (readonly [year: string, VarianceTotal])[];
  readonly byBuilding: readonly (readonly [building: string, VarianceTotal])[];
};

/** A finished plan's life: where it stands, its lines, and what was done against what was planned. */
export function readLifePage(viewer: Viewer, runId: string): Promise<LifePage | null> {
  requireAction(viewer, "record.read");
  return withSql(viewer, async (client) => {
    if (!isId(runId)) return null;
    const approval = await findApproval(client, runId);
    const found = await findRun(client, runId);
    if (!approval || !found) return null;
    const { terms, summary, ...run } = found;
    const inForce = await findPlanInForce(client);
    const lines = await listLifeLines(client, runId);
    const compared = lines.map((line) => varianceLineOf(line, terms));
    const places = new Map(
      lines.map((line) => [line.buildingId, `${line.propertyName}, ${line.buildingName}`]),
    );
    return {
      mayEdit: mayDo(viewer.role, "plan.edit"),
      run,
      approval,
      otherInForce: inForce && inForce.id !== runId ? inForce : null,
      optionNames: (summary as PlanSummary).optionNames,
      rows: lines.map((line, index): LifeRow => {
        const variance = compared[index] as VarianceLine;
        return { ...line, budgetYear: variance.budgetYear, variance: lineVariance(variance) };
      }),
      total: totalVariance(compared),
      byYear: [...varianceBy(compared, ({ budgetYear }) => budgetYear)],
      byBuilding: [...varianceBy(compared, ({ buildingId }) => buildingId)]
        .map(([id, total]) => [places.get(id) ?? id, total] as const)
        .sort(([a], [b]) => a.localeCompare(b, "en")),
    };
  });
}

function varianceLineOf(line: LifeLine, terms: ScenarioTerms): VarianceLine {
  const period = terms.periods.find(({ id }) => id === line.period);
  if (!period) throw new RangeError(`the plan has no period "${line.period}"`);
  return {
    heaterId: line.heaterId,
    buildingId: line.buildingId,
    budgetYear: period.budgetYear,
    start: calendarDay(period.start),
    end: calendarDay(period.end),
    plannedCents: line.plannedCents,
    life: line.life,
    actualDay: line.actualDay,
    actualCents: line.actualCents,
  };
}

/**
 * Puts a draft in force: it can then be acted on line by line, and what it commits binds later runs. The
 * plan in force until now is withdrawn; what that one had committed must be kept and stays committed.
 */
export function approvePlan(
  viewer: Viewer,
  runId: string,
  version: number,
): Promise<Outcome<null>> {
  requireAction(viewer, "plan.edit");
  return withSql(viewer, async (client) => {
    const approval = isId(runId) ? await findApproval(client, runId) : null;
    if (!approval) return failure(NOT_THERE);
    if (approval.standing !== "draft" || approval.version !== version) return failure(CHANGED);
    if (!approval.isFrozen) {
      return failure({
        path: "",
        message:
          "The inputs of this plan were not stored with it, so it could not be checked later. Compute it again and approve that one.",
      });
    }
    const commitments = await listCommitments(client);
    const broken = brokenCommitments(commitments, await listBareLines(client, runId));
    if (broken.length > 0) {
      const rest = broken.length - NAMED;
      return failure({
        path: "",
        message: `This plan does not keep ${broken.length} committed ${broken.length === 1 ? "line" : "lines"} of the plan in force: ${broken
          .slice(0, NAMED)
          .map(({ tag }) => tag)
          .join(
            ", ",
          )}${rest > 0 ? ` and ${rest} more` : ""}. Compute it again, or take these lines back first.`,
      });
    }
    const before = await findPlanInForce(client);
    if (before) await withdrawRun(client, before.id, null);
    if (!(await approveRun(client, runId, version, viewer.userId))) return failure(CHANGED);
    await carryCommitments(
      client,
      runId,
      commitments.map(({ heaterId }) => heaterId),
    );
    await writeAudit(client, viewer.organizationId, {
      userId: viewer.userId,
      action: "plan.approve",
      entity: "PlanRun",
      entityId: runId,
      before: { inForce: before?.id ?? null },
      after: { inForce: runId, commitmentsKept: commitments.length },
    });
    return success(null);
  });
}

/** Takes a plan out of force. Its lines and what was done stay readable; nothing binds later runs. */
export function withdrawPlan(
  viewer: Viewer,
  runId: string,
  version: number,
): Promise<Outcome<null>> {
  requireAction(viewer, "plan.edit");
  return withSql(viewer, async (client) => {
    if (!isId(runId)) return failure(NOT_THERE);
    if (!(await withdrawRun(client, runId, version))) return failure(CHANGED);
    await writeAudit(client, viewer.organizationId, {
      userId: viewer.userId,
      action: "plan.withdraw",
      entity: "PlanRun",
      entityId: runId,
    });
    return success(null);
  });
}

export type PlanRecheck = {
  readonly isSame: boolean;
  readonly fingerprint: string;
  readonly storedFingerprint: string;
  readonly objectiveCents: number;
  readonly storedObjectiveCents: number;
  readonly violations: readonly string[];
};

/** Sums in another order differ in their last digits: a cent is forgiven. */
const FORGIVEN_CENTS = 1;

/** Prices the plan anew from its stored inputs and compares fingerprint, cost and rules with what is stored. */
export async function recheckPlan(viewer: Viewer, runId: string): Promise<Outcome<PlanRecheck>> {
  requireAction(viewer, "record.read");
  const read = await withSql(viewer, async (client) => {
    const frozen = isId(runId) ? await readFrozen(client, runId) : null;
    if (!frozen) return null;
    return {
      frozen,
      lines: await listBareLines(client, runId),
      upgrades: await listUpgrades(client, runId),
    };
  });
  if (!read) return failure({ path: "", message: "This plan has no stored inputs to check." });
  const { frozen, lines, upgrades } = read;
  const again = await recomputePlan(
    frozen.frozenInputs,
    lines,
    upgrades.map(({ buildingId, period }) => ({ building: buildingId, period })),
  );
  return success({
    isSame:
      again.fingerprint === frozen.fingerprint &&
      again.violations.length === 0 &&
      Math.abs(again.objectiveCents - frozen.objectiveCents) <= FORGIVEN_CENTS,
    fingerprint: again.fingerprint,
    storedFingerprint: frozen.fingerprint,
    objectiveCents: again.objectiveCents,
    storedObjectiveCents: frozen.objectiveCents,
    violations: again.violations,
  });
}

export const lineActSchema = z.strictObject({
  act: z.enum(LINE_ACTS),
  lines: z
    .array(z.strictObject({ heaterId: z.uuid(), version: z.int().min(1) }))
    .min(1, "choose a line first")
    .max(5_000, "choose at most 5,000 lines at once"),
  /** As typed; empty takes the day and cost that the record has of each heater's replacement. */
  day: z.string().trim(),
  cost: z.string().trim(),
});
export type LineActForm = z.input<typeof lineActSchema>;

/** Acts on lines of the plan in force: all of them or, when one may not, none. */
export function actOnLines(
  viewer: Viewer,
  runId: string,
  form: LineActForm,
  today: CalendarDay,
): Promise<Outcome<{ readonly changed: number }>> {
  requireAction(viewer, "plan.edit");
  return withSql(viewer, async (client) => {
    const parsed = lineActSchema.safeParse(form);
    if (!parsed.success) {
      return failure(
        ...parsed.error.issues.map(({ path, message }) => ({ path: path.join("."), message })),
      );
    }
    const { act, lines: asked, day, cost } = parsed.data;
    const problems: Problem[] = [];
    if (day !== "" && !isCalendarDay(day)) {
      problems.push({ path: "day", message: `“${day}” is not a day.` });
    }
    const cents = cost === "" ? null : parseCents(cost, "cost");
    if (cents && !cents.ok) problems.push(...cents.problems);
    const approval = isId(runId) ? await findApproval(client, runId) : null;
    if (!approval) problems.push(NOT_THERE);
    if (problems.length > 0 || !approval) return failure(...problems);

    await lockLines(
      client,
      runId,
      asked.map(({ heaterId }) => heaterId),
    );
    const lines = new Map(
      (await listLifeLines(client, runId)).map((line) => [line.heaterId, line]),
    );
    const before: Record<string, LineLife> = {};
    const after: Record<string, LineLife> = {};
    const steps = asked.flatMap(({ heaterId, version }) => {
      const line = lines.get(heaterId);
      if (!line) {
        problems.push({ path: "", message: "One of the lines is not part of this plan." });
        return [];
      }
      const step = stepLine(approval.standing, line, act, {
        readVersion: version,
        actual: {
          day: day === "" ? line.recordedDay : calendarDay(day),
          cents: cents?.ok ? cents.value : line.recordedCents,
        },
        today,
      });
      if (!step.ok) {
        problems.push(...step.problems);
        return [];
      }
      before[line.tag] = line.life;
      after[line.tag] = step.value.life;
      return [{ heaterId, ...step.value }];
    });
    if (problems.length > 0) return failure(...problems.slice(0, NAMED));
    await writeLineSteps(client, runId, steps);
    await writeAudit(client, viewer.organizationId, {
      userId: viewer.userId,
      action: `plan.line.${act}`,
      entity: "PlanRun",
      entityId: runId,
      before,
      after,
    });
    return success({ changed: steps.length });
  });
}

const CSV_HEADING = [
  "Budget year",
  "Period",
  "Property",
  "Building",
  "Home",
  "Heater",
  "Option code",
  "State",
  "Planned cost, $",
  "Actual cost, $",
  "Cost difference, $",
  "Actual day",
  "Days outside the period",
] as const;

/** Planned against actual, one row a line that replaces something; null without such a plan. */
export async function readVarianceCsv(
  viewer: Viewer,
  runId: string,
): Promise<{ readonly fileName: string; readonly parts: Iterable<string> } | null> {
  const page = await readLifePage(viewer, runId);
  if (!page) return null;
  const dollars = (cents: number | null) => (cents === null ? null : cents / 100);
  return {
    fileName: "planned-against-actual.csv",
    parts: csvFile(
      CSV_HEADING,
      page.rows.map((row) => [
        row.budgetYear,
        row.period,
        row.propertyName,
        row.buildingName,
        row.unitLabel,
        row.tag,
        row.optionCode,
        LINE_LIFE_LABELS[row.life],
        dollars(row.plannedCents),
        dollars(row.actualCents),
        dollars(row.variance.cents),
        row.actualDay,
        row.variance.days,
      ]),
    ),
  };
}
