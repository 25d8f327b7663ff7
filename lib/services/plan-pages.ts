import "server-only";
import { z } from "zod";
import { csvFile } from "@/lib/core/exchange/csv";
import { TECHNOLOGY_LABELS } from "@/lib/core/heaters/vocabulary";
import type { ScenarioTerms } from "@/lib/core/planning/scenario";
import { STRATEGY_LABELS } from "@/lib/core/planning/strategies";
import {
  findRun,
  listLines,
  listScheduleGroups,
  listUpgrades,
  type RunRecord,
  type ScheduleGroup,
  type ScheduleLine,
} from "@/lib/data/plans";
import { withSql } from "@/lib/data/tenant";
import { mayDo } from "./permissions";
import type { PlanSummary } from "./plan-summary";
import { requireAction, type Viewer } from "./viewer";

const isId = (text: string) => z.uuid().safeParse(text).success;

export type { RunStatus, ScheduleGroup, ScheduleLine } from "@/lib/data/plans";

export type PlanUpgradeLine = Awaited<ReturnType<typeof listUpgrades>>[number];

export type PlanPage = {
  readonly mayEdit: boolean;
  readonly run: RunRecord;
  readonly terms: ScenarioTerms;
  /** Present once the run is done. */
  readonly plan: {
    readonly summary: PlanSummary;
    readonly groups: readonly ScheduleGroup[];
    readonly upgrades: readonly PlanUpgradeLine[];
  } | null;
};

/** A run with its plan, if it has one; null when the viewer's organisation has no such run. */
export function readPlanPage(viewer: Viewer, runId: string): Promise<PlanPage | null> {
  requireAction(viewer, "record.read");
  return withSql(viewer, async (client) => {
    const found = isId(runId) ? await findRun(client, runId) : null;
    if (!found) return null;
    const { terms, summary, ...run } = found;
    return {
      mayEdit: mayDo(viewer.role, "plan.edit"),
      run,
      terms,
      plan:
        run.status === "done"
          ? {
              summary: summary as PlanSummary,
              groups: await listScheduleGroups(client, runId),
              upgrades: await listUpgrades(client, runId),
            }
          : null,
    };
  });
}

/** Which lines of a run: a building's in one period, or those of the heaters that stay. */
export const lineSelectionSchema = z.union([
  z.strictObject({ buildingId: z.uuid(), period: z.string().min(1).max(20) }),
  z.strictObject({ left: z.literal(true) }),
]);
export type LineSelection = z.output<typeof lineSelectionSchema>;

/** Lines with their parts; null when the viewer's organisation has no such run. */
export function readPlanLines(
  viewer: Viewer,
  runId: string,
  selection: LineSelection,
): Promise<readonly ScheduleLine[] | null> {
  requireAction(viewer, "record.read");
  return withSql(viewer, async (client) => {
    if (!isId(runId) || !(await findRun(client, runId))) return null;
    return listLines(client, runId, selection);
  });
}

const CSV_HEADING = [
  "Budget year",
  "Period",
  "Period start",
  "Property",
  "Building",
  "Home",
  "Heater",
  "Technology now",
  "Installed, earliest",
  "Installed, latest",
  "Option",
  "Option code",
  "Planned cost, $",
  "Incentive, $",
  "Crew hours",
  "Chance of failing before the swap",
  "Not known at the closet",
] as const;

/** The schedule as a CSV file: one line a heater, the heaters that stay last. docs/formats/schedule-csv.md. */
export function readScheduleCsv(
  viewer: Viewer,
  runId: string,
): Promise<{ readonly fileName: string; readonly parts: Iterable<string> } | null> {
  requireAction(viewer, "record.read");
  return withSql(viewer, async (client) => {
    const run = isId(runId) ? await findRun(client, runId) : null;
    if (run?.status !== "done") return null;
    const { optionNames } = run.summary as PlanSummary;
    const periods = new Map(run.terms.periods.map((period) => [period.id, period]));
    const lines = await listLines(client, runId);
    const rows = lines.map((line) => {
      const period = line.period === null ? undefined : periods.get(line.period);
      return [
        period?.budgetYear ?? null,
        line.period,
        period?.start ?? null,
        line.propertyName,
        line.buildingName,
        line.unitLabel,
        line.tag,
        TECHNOLOGY_LABELS[line.technology],
        line.installEarliest,
        line.installLatest,
        line.optionCode === null
          ? "Not within the horizon"
          : (optionNames[line.optionCode] ?? line.optionCode),
        line.optionCode,
        line.optionCode === null ? null : line.capitalCents / 100,
        line.optionCode === null ? null : line.parts.incentiveCents / 100,
        line.optionCode === null ? null : line.hours,
        Math.round(line.parts.failsBefore * 10_000) / 10_000,
        line.parts.unknownReadiness.join("; "),
      ];
    });
    const name = run.scenarioName.replace(/[^\p{L}\p{N}]+/gu, "-").replace(/^-|-$/g, "");
    return {
      fileName: `schedule-${name.toLowerCase() || "plan"}.csv`,
      parts: csvFile(CSV_HEADING, rows),
    };
  });
}

/** What a strategy is called, with the age that it replaces at. */
export function strategyLabel(strategy: keyof typeof STRATEGY_LABELS, ageYears: number): string {
  return strategy === "replace-at-age" ? `Replace at ${ageYears} years` : STRATEGY_LABELS[strategy];
}
