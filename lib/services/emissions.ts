import "server-only";
import { z } from "zod";
import type {
  AccountSummary,
  AchievedDetail,
  PlannedDetail,
} from "@/lib/core/emissions/account-summary";
import { locationTotal, type ScopeTotals } from "@/lib/core/emissions/annual-emissions";
import type { EmissionsTerms } from "@/lib/core/emissions/emissions-terms";
import type { Policy } from "@/lib/core/emissions/policies";
import { type CalendarDay, yearOf } from "@/lib/core/shared/calendar-day";
import { failure, type Outcome, success } from "@/lib/core/shared/outcome";
import { writeAudit } from "@/lib/data/audit";
import { listDoneRuns } from "@/lib/data/emissions";
import { readRecordStamp } from "@/lib/data/emissions-record";
import {
  type EmissionsRunProgress,
  type EmissionsRunRecord,
  endEmissionsRun,
  findEmissionsRun,
  findEmissionsRunProgress,
  insertEmissionsRun,
  listEmissionsRuns,
  listRunYears,
  type RunNames,
  type RunYear,
  readRunNames,
} from "@/lib/data/emissions-runs";
import { readEmissionsTerms } from "@/lib/data/emissions-terms";
import { enqueueJob } from "@/lib/data/job-queue";
import { countHeatersInService } from "@/lib/data/plans";
import { type TenantClient, withSql } from "@/lib/data/tenant";
import type { AccountRules } from "./emissions-account";
import { type EmissionsJob, type Reproduction, reproduceRun } from "./emissions-run";
import { mayDo } from "./permissions";
import { ServiceError } from "./service-error";
import { requireAction, type Viewer } from "./viewer";

export type { EmissionsRunProgress, EmissionsRunRecord } from "@/lib/data/emissions-runs";
export type { Reproduction } from "./emissions-run";

/** Years before the reporting year that stand for a base year where none is chosen. */
const YEARS_TO_BASE = 5;
/** Properties of a list on the screen; all of them are in the workbook. */
const PROPERTIES_SHOWN = 60;

/** A property's line in the account of a year. */
export type PropertyLine = {
  readonly propertyId: string;
  readonly name: string;
  readonly heaters: number;
  readonly kgCo2e: ScopeTotals;
  readonly detail: AchievedDetail;
};

/** One property's years: what the whole portfolio's page shows of all of them. */
export type PropertyPath = {
  readonly propertyId: string;
  readonly name: string;
  readonly achieved: readonly (RunYear & { readonly detail: AchievedDetail })[];
  readonly planned: readonly (RunYear & { readonly detail: PlannedDetail })[];
  readonly unchanged: readonly RunYear[];
};

export type EmissionsOverview = {
  readonly mayEdit: boolean;
  readonly hasHeaters: boolean;
  readonly runs: readonly EmissionsRunRecord[];
  /** The account shown; null while there is none. */
  readonly account: {
    readonly run: EmissionsRunRecord;
    readonly summary: AccountSummary;
    readonly policies: readonly Policy[];
    /** How the grid was taken to go on, with where that was read. */
    readonly gridOutlook: EmissionsTerms["gridOutlook"];
    /** True when the record has changed since the account was made. */
    readonly isStale: boolean;
    readonly properties: readonly PropertyLine[];
    readonly propertyCount: number;
    readonly property: PropertyPath | null;
    readonly propertyChoices: readonly { readonly id: string; readonly name: string }[];
  } | null;
  /** A run that waits or is computed. */
  readonly underWay: EmissionsRunRecord | null;
  /** Years that may be accounted for, the latest first, and plans that may stand beside them. */
  readonly years: readonly number[];
  readonly defaultYear: number;
  readonly plans: readonly {
    readonly id: string;
    readonly name: string;
    readonly finishedAt: Date;
  }[];
};

/** The account asked for, or the latest one, with what can be asked of it. */
export function readEmissions(
  viewer: Viewer,
  filter: { readonly runId: string | null; readonly propertyId: string | null },
  today: CalendarDay,
): Promise<EmissionsOverview> {
  requireAction(viewer, "record.read");
  return withSql(viewer, async (client) => {
    const runs = await listEmissionsRuns(client);
    const { terms } = await readEmissionsTerms(client);
    const chosen =
      runs.find(({ id, status }) => id === filter.runId && status === "done") ??
      runs.find(({ status }) => status === "done") ??
      null;
    const thisYear = yearOf(today);
    const firstYear = Math.min(terms.baseYear ?? thisYear - YEARS_TO_BASE, thisYear - 1);
    return {
      mayEdit: mayDo(viewer.role, "settings.edit"),
      hasHeaters: (await countHeatersInService(client)) > 0,
      runs,
      account: chosen && (await readAccount(client, chosen.id, filter.propertyId)),
      underWay: runs.find(({ status }) => status === "queued" || status === "running") ?? null,
      years: Array.from({ length: thisYear - firstYear + 1 }, (_, back) => thisYear - back),
      defaultYear: thisYear - 1,
      plans: await listDoneRuns(client),
    };
  });
}

async function readAccount(
  client: TenantClient,
  runId: string,
  propertyId: string | null,
): Promise<NonNullable<EmissionsOverview["account"]>> {
  const run = await findEmissionsRun(client, runId);
  if (!run) throw new ServiceError("not-found", "This account is not on record.");
  const { summary, terms, factors: _, ...record } = run;
  const rules = terms as AccountRules;
  const names = await readRunNames(client, runId);
  const lines = await listRunYears(client, runId, { year: run.year, series: "achieved" });
  const properties = lines
    .map((line) => propertyLine(line, names))
    .sort((a, b) => locationTotal(b.kgCo2e) - locationTotal(a.kgCo2e));
  const asked = properties.some((line) => line.propertyId === propertyId) ? propertyId : null;
  return {
    run: record,
    summary: summary as AccountSummary,
    policies: rules.policies,
    gridOutlook: rules.terms.gridOutlook,
    isStale: run.stamp !== (await readRecordStamp(client)),
    properties: properties.slice(0, PROPERTIES_SHOWN),
    propertyCount: properties.length,
    property: asked === null ? null : await readPropertyPath(client, runId, asked, names),
    propertyChoices: properties
      .map(({ propertyId: id, name }) => ({ id, name }))
      .sort((a, b) => (a.name < b.name ? -1 : 1)),
  };
}

function propertyLine(line: RunYear, names: RunNames): PropertyLine {
  return {
    propertyId: line.propertyId,
    name: names.properties[line.propertyId] ?? "",
    heaters: line.heaters,
    kgCo2e: line.kgCo2e,
    detail: line.detail as AchievedDetail,
  };
}

async function readPropertyPath(
  client: TenantClient,
  runId: string,
  propertyId: string,
  names: RunNames,
): Promise<PropertyPath> {
  const years = await listRunYears(client, runId, { propertyId });
  return {
    propertyId,
    name: names.properties[propertyId] ?? "",
    achieved: years.flatMap((year) =>
      year.series === "achieved" ? [{ ...year, detail: year.detail as AchievedDetail }] : [],
    ),
    planned: years.flatMap((year) =>
      year.series === "planned" ? [{ ...year, detail: year.detail as PlannedDetail }] : [],
    ),
    unchanged: years.filter(({ series }) => series === "unchanged"),
  };
}

/** Asks for an account of a year: the run and its job are written in one transaction. */
export function requestAccount(
  viewer: Viewer,
  input: { readonly year: number; readonly plan: string | null },
  today: CalendarDay,
): Promise<Outcome<{ readonly runId: string }>> {
  requireAction(viewer, "settings.edit");
  return withSql(viewer, async (client) => {
    if (input.year > yearOf(today)) {
      return failure({ path: "year", message: `${input.year} has not begun.` });
    }
    if ((await countHeatersInService(client)) === 0) {
      return failure({
        path: "",
        message: "There is no heater in service to account for. Bring in your heaters first.",
      });
    }
    const { terms } = await readEmissionsTerms(client);
    const baseYear = Math.min(terms.baseYear ?? input.year - YEARS_TO_BASE, input.year);
    const runId = await insertEmissionsRun(client, viewer.organizationId, {
      year: input.year,
      baseYear,
      asOf: today,
      planRunId: input.plan,
      requestedBy: viewer.userId,
    });
    const job: EmissionsJob = { organizationId: viewer.organizationId, runId };
    await enqueueJob(client, "emissions", job);
    await writeAudit(client, viewer.organizationId, {
      userId: viewer.userId,
      action: "emissions.request",
      entity: "EmissionsRun",
      entityId: runId,
      after: { ...input, baseYear },
    });
    return success({ runId });
  });
}

/** Ends a run that waits or is computed. */
export function cancelAccount(viewer: Viewer, runId: string): Promise<Outcome<null>> {
  requireAction(viewer, "settings.edit");
  return withSql(viewer, async (client) => {
    const isEnded =
      isId(runId) && (await endEmissionsRun(client, runId, "cancelled", "Cancelled."));
    if (!isEnded) {
      return failure({ path: "", message: "This account had already ended: nothing was changed." });
    }
    await writeAudit(client, viewer.organizationId, {
      userId: viewer.userId,
      action: "emissions.cancel",
      entity: "EmissionsRun",
      entityId: runId,
    });
    return success(null);
  });
}

/** Where a run stands; null when the viewer's organisation has no such run. */
export function readAccountProgress(
  viewer: Viewer,
  runId: string,
): Promise<EmissionsRunProgress | null> {
  requireAction(viewer, "record.read");
  return withSql(viewer, async (client) =>
    isId(runId) ? findEmissionsRunProgress(client, runId) : null,
  );
}

/** Computes a kept account again from its own rows; null when the run has none. */
export function reproduceAccount(viewer: Viewer, runId: string): Promise<Reproduction | null> {
  requireAction(viewer, "record.read");
  return withSql(viewer, async (client) => (isId(runId) ? reproduceRun(client, runId) : null));
}

function isId(text: string): boolean {
  return z.uuid().safeParse(text).success;
}
