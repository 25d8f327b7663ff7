import "server-only";
import { z } from "zod";
import { csvFile } from "@/lib/core/exchange/csv";
import { prepareCosting, priceHeater } from "@/lib/core/planning/costing";
import { changeInWords, reasonInWords } from "@/lib/core/planning/plan-change-words";
import {
  type ChangeTotals,
  type ComparedLine,
  type ComparedPlan,
  comparePlans,
  totalChanges,
} from "@/lib/core/planning/plan-changes";
import type { PlanStanding } from "@/lib/core/planning/plan-life";
import type { ScenarioTerms } from "@/lib/core/planning/scenario";
import { addMonths, type CalendarDay, calendarDay } from "@/lib/core/shared/calendar-day";
import { parseCents } from "@/lib/core/shared/money";
import { failure, type Outcome } from "@/lib/core/shared/outcome";
import {
  findApproval,
  listBareLines,
  listHeaterEnds,
  listHeaterPlaces,
  readFrozen,
} from "@/lib/data/plan-lives";
import { findRun, type RunRecord } from "@/lib/data/plans";
import { listScenarios } from "@/lib/data/scenarios";
import { withSql } from "@/lib/data/tenant";
import { mayDo } from "./permissions";
import { type FrozenInputs, thawInputs } from "./plan-frozen";
import { requestRun } from "./plan-requests";
import { withoutTooSmall } from "./plan-sizing";
import type { PlanSummary } from "./plan-summary";
import { requireAction, type Viewer } from "./viewer";

const isId = (text: string) => z.uuid().safeParse(text).success;

/**
 * What moving a line must save unless someone says otherwise: about two hours of office work for a new
 * notice to the resident, a new date with the crew and a changed order. Assumed; no source.
 */
export const DEFAULT_MOVE_PENALTY_CENTS = 15_000;

export const replanFormSchema = z.strictObject({
  /** Whose terms the new plan takes: the earlier plan's own scenario, or one with what has changed. */
  scenarioId: z.uuid("Choose a scenario."),
  /** Dollars as typed. */
  penalty: z.string().trim(),
  reason: z
    .string()
    .trim()
    .min(1, "Say why the plan is made anew: whoever reads the changes will ask.")
    .max(500, "Keep the reason below 500 letters."),
});
export type ReplanForm = z.input<typeof replanFormSchema>;

/**
 * Asks for a plan around the one in force: the record as it is today and a scenario's terms, what is
 * committed and done kept, every other line moved only where that saves more than the penalty.
 */
export async function requestReplan(
  viewer: Viewer,
  runId: string,
  form: ReplanForm,
  today: CalendarDay,
): Promise<Outcome<{ readonly runId: string }>> {
  requireAction(viewer, "plan.edit");
  const parsed = replanFormSchema.safeParse(form);
  const penalty = parseCents(typeof form.penalty === "string" ? form.penalty : "", "penalty");
  const problems = [
    ...(parsed.success
      ? []
      : parsed.error.issues.map(({ path, message }) => ({ path: path.join("."), message }))),
    ...(penalty.ok ? [] : penalty.problems),
  ];
  if (penalty.ok && penalty.value < 0) {
    problems.push({ path: "penalty", message: "The penalty is zero or more." });
  }
  if (!parsed.success || !penalty.ok || problems.length > 0) return failure(...problems);
  const standing = await withSql(viewer, async (client) => {
    const approval = isId(runId) ? await findApproval(client, runId) : null;
    return approval?.standing ?? null;
  });
  if (standing !== "in-force") {
    return failure({
      path: "",
      message: "Only the plan in force can be planned anew around. Approve this one first.",
    });
  }
  const { reason, scenarioId } = parsed.data;
  const replan = { of: runId, penaltyCents: penalty.value, reason };
  return requestRun(viewer, scenarioId, today, replan);
}

export type ChangeRow = {
  readonly heaterId: string;
  readonly tag: string;
  readonly place: string;
  /** What happened to the line, in words. */
  readonly change: string;
  /** Why, one clause each; empty where nothing that is stored says. */
  readonly reasons: readonly string[];
  readonly beforeCents: number;
  readonly afterCents: number;
};

export type PlanChangesView = {
  readonly ofRunId: string;
  readonly reason: string;
  readonly penaltyCents: number;
  readonly penaltiesCents: number;
  readonly committedKept: number;
  readonly rows: readonly ChangeRow[];
  readonly totals: ChangeTotals;
};

export type ReplanPage = {
  readonly run: RunRecord;
  readonly standing: PlanStanding;
  readonly mayEdit: boolean;
  /** Scenarios to take the terms from, the latest first. */
  readonly scenarios: readonly { readonly id: string; readonly name: string }[];
  /** Null for a plan that was not made around an earlier one. */
  readonly changes: PlanChangesView | null;
};

/** A finished plan as something to plan anew around, and what it changed itself. */
export async function readReplanPage(viewer: Viewer, runId: string): Promise<ReplanPage | null> {
  requireAction(viewer, "record.read");
  const read = await withSql(viewer, async (client) => {
    const approval = isId(runId) ? await findApproval(client, runId) : null;
    const found = approval ? await findRun(client, runId) : null;
    if (!approval || !found) return null;
    const scenarios = (await listScenarios(client)).map(({ id, name }) => ({ id, name }));
    const { replan } = found.terms;
    const earlier = replan ? await findRun(client, replan.of) : null;
    if (!replan || !earlier) return { approval, found, scenarios, comparison: null };
    return {
      approval,
      found,
      scenarios,
      comparison: {
        replan,
        earlier,
        oldLines: await listBareLines(client, earlier.id),
        newLines: await listBareLines(client, runId),
        oldFrozen: await readFrozen(client, earlier.id),
        newFrozen: await readFrozen(client, runId),
        ends: await listHeaterEnds(client, earlier.id),
        places: await listHeaterPlaces(client, [earlier.id, runId]),
      },
    };
  });
  if (!read) return null;
  const { approval, found, scenarios, comparison } = read;
  const { terms, summary, ...run } = found;
  const page = {
    run,
    standing: approval.standing,
    mayEdit: mayDo(viewer.role, "plan.edit"),
    scenarios,
  };
  if (!comparison) return { ...page, changes: null };

  const { replan, earlier, oldLines, newLines, oldFrozen, newFrozen, ends, places } = comparison;
  const oldInputs = oldFrozen ? (await thawInputs(oldFrozen.frozenInputs)).inputs : null;
  const newInputs = newFrozen ? (await thawInputs(newFrozen.frozenInputs)).inputs : null;
  const changes = comparePlans(
    comparedPlan(earlier.terms, oldLines, oldInputs),
    comparedPlan(terms, newLines, newInputs),
    { ends, priced: pricedBy(newInputs) },
  );
  const optionNames = {
    ...(earlier.summary as PlanSummary).optionNames,
    ...(summary as PlanSummary).optionNames,
  };
  const planned = new Set(newLines.map(({ heaterId }) => heaterId));
  return {
    ...page,
    changes: {
      ofRunId: earlier.id,
      reason: replan.reason,
      penaltyCents: replan.penaltyCents,
      penaltiesCents: (summary as PlanSummary).replan?.penaltiesCents ?? 0,
      committedKept: oldLines.filter(
        ({ life, heaterId }) => life === "committed" && planned.has(heaterId),
      ).length,
      rows: changes
        .map((change) => ({
          heaterId: change.heater,
          tag: places.get(change.heater)?.tag ?? change.heater,
          place: places.get(change.heater)?.place ?? "",
          change: changeInWords(change, optionNames),
          reasons: change.reasons.map((reason) => reasonInWords(reason, optionNames)),
          beforeCents: change.before?.capitalCents ?? 0,
          afterCents: change.after?.capitalCents ?? 0,
        }))
        .sort((a, b) => a.place.localeCompare(b.place, "en") || a.tag.localeCompare(b.tag, "en")),
      totals: totalChanges(changes),
    },
  };
}

function comparedPlan(
  terms: ScenarioTerms,
  lines: Awaited<ReturnType<typeof listBareLines>>,
  inputs: FrozenInputs | null,
): ComparedPlan {
  const chances = new Map(
    inputs?.heaters.map(({ id, conditionalFailure }) => [
      id,
      chanceWithinYear(terms.periods, conditionalFailure),
    ]),
  );
  return {
    periods: terms.periods,
    budgets: terms.budgets,
    chanceWithinYear: (heater) => chances.get(heater) ?? null,
    lines: lines.map(
      (line): ComparedLine => ({
        heater: line.heaterId,
        option: line.optionCode,
        period: line.period,
        capitalCents: line.capitalCents,
        isDropped: line.life === "dropped",
        doneDay: line.life === "done" ? line.actualDay : null,
      }),
    ),
  };
}

/** Over the periods that end within twelve months; null when even the first is longer. */
function chanceWithinYear(
  periods: ScenarioTerms["periods"],
  conditionalFailure: readonly number[],
): number | null {
  const [first] = periods;
  if (!first) return null;
  const last = addMonths(calendarDay(first.start), 12);
  const within = periods.filter(({ end }) => end <= last).length;
  if (within === 0) return null;
  return (
    1 - conditionalFailure.slice(0, within).reduce((stands, chance) => stands * (1 - chance), 1)
  );
}

function pricedBy(inputs: FrozenInputs | null) {
  if (!inputs) return () => null;
  const context = prepareCosting(inputs.terms, inputs.options);
  const heaters = new Map(inputs.heaters.map((heater) => [heater.id, heater]));
  return (id: string) => {
    const heater = heaters.get(id);
    if (!heater) return null;
    const { tooSmall, ...input } = heater;
    return withoutTooSmall(priceHeater(context, input), new Set(tooSmall));
  };
}

const CSV_HEADING = [
  "Place",
  "Heater",
  "What changed",
  "Why",
  "Planned cost before, $",
  "Planned cost now, $",
] as const;

/** What a plan changed of the one it was made around, one row a line; null without such a plan. */
export async function readChangesCsv(
  viewer: Viewer,
  runId: string,
): Promise<{ readonly fileName: string; readonly parts: Iterable<string> } | null> {
  const changes = (await readReplanPage(viewer, runId))?.changes;
  if (!changes) return null;
  return {
    fileName: "changes-of-the-plan.csv",
    parts: csvFile(
      CSV_HEADING,
      changes.rows.map((row) => [
        row.place,
        row.tag,
        row.change,
        row.reasons.join("; "),
        row.beforeCents / 100,
        row.afterCents / 100,
      ]),
    ),
  };
}
