import { createHash } from "node:crypto";
import { z } from "zod";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import { failure, type Outcome, type Problem, success } from "@/lib/core/shared/outcome";
import { watchedSpan } from "@/lib/core/survival/curves";
import { FIT_METHOD, fitRecords } from "@/lib/core/survival/fit-records";
import { type FitReport, reportFit, summarizeLeftOut } from "@/lib/core/survival/fit-report";
import type { LifeRecord } from "@/lib/core/survival/life-record";
import { PRIOR_MODEL, type SurvivalModel } from "@/lib/core/survival/model";
import { type BackTestReport, runBackTest } from "@/lib/core/survival/run-back-test";
import { writeAudit } from "@/lib/data/audit";
import { countHeaters, loadLives } from "@/lib/data/history";
import { enqueueJob } from "@/lib/data/job-queue";
import {
  adoptFit,
  claimBackTest,
  claimFit,
  endBackTest,
  endFit,
  insertFit,
  lockFits,
  nameHeaters,
  requeueBackTest,
  requeueFit,
  storeFit,
  writeBackTestProgress,
  writeFitProgress,
} from "@/lib/data/survival-fits";
import { type Tenant, type TenantClient, withSql } from "@/lib/data/tenant";
import { fitName, loadCurrentModel } from "./risk-model";
import { requestRiskPass } from "./risk-scoring";
import { WorkReporter } from "./risk-work-reporter";

/** What the queue carries for a fit or its back-test. */
export const fitJobSchema = z.object({ organizationId: z.uuid(), fitId: z.uuid() });
export type FitJob = z.output<typeof fitJobSchema>;

/** What is computed off the worker's own thread. */
export type FitRequest = {
  readonly organizationId: string;
  /** Name of the fit, which its model carries beside every number. */
  readonly method: string;
  readonly asOf: CalendarDay;
};

export type FitFound = {
  readonly fingerprint: string;
  readonly model: SurvivalModel;
  readonly report: FitReport;
};

/** Says how far the work is and what is being done. */
export type OnProgress = (share: number, message: string) => void;

/** Runs a computation elsewhere; ends at once, by rejecting, when the signal says so. */
export type ComputeAside<T> = (
  request: FitRequest,
  options: { readonly signal: AbortSignal; readonly onProgress: OnProgress },
) => Promise<Outcome<T>>;

/**
 * Adds a fit and its job, as part of the caller's transaction.
 * @param adoptsItself taken into use when it is done, without a person: the demo's first fit
 */
export async function queueFit(
  client: TenantClient,
  { organizationId }: Tenant,
  {
    asOf,
    requestedBy,
    adoptsItself = false,
  }: {
    readonly asOf: CalendarDay;
    readonly requestedBy: string | null;
    readonly adoptsItself?: boolean;
  },
): Promise<{ readonly id: string; readonly number: number }> {
  await lockFits(client, organizationId);
  const fit = await insertFit(client, organizationId, {
    asOf,
    method: FIT_METHOD,
    requestedBy,
    adoptsItself,
  });
  const job: FitJob = { organizationId, fitId: fit.id };
  await enqueueJob(client, "fit", job);
  return fit;
}

/** Asks for the demo's first fit, which is taken into use as soon as it is done. */
export async function learnFromDemo(tenant: Tenant, asOf: CalendarDay): Promise<void> {
  await withSql(tenant, (client) =>
    queueFit(client, tenant, { asOf, requestedBy: null, adoptsItself: true }),
  );
}

// ---- the fit ----

/**
 * Makes a requested fit and stores what was found, or why nothing could be; its back-test is then
 * asked for. Tried again after a crash it starts over and stores one answer; a fit that has ended or
 * was cancelled is left alone.
 *
 * @param signal the worker is stopping: the fit goes back into the queue
 */
export async function executeFit(
  data: unknown,
  { signal, compute }: { readonly signal: AbortSignal; readonly compute: ComputeAside<FitFound> },
): Promise<void> {
  const { organizationId, fitId } = fitJobSchema.parse(data);
  const tenant: Tenant = { organizationId };
  const claim = await withSql(tenant, (client) => claimFit(client, fitId));
  if (!claim) return;
  const reporter = new WorkReporter(signal, (progress, message) =>
    withSql(tenant, (client) => writeFitProgress(client, fitId, progress, message)),
  );
  try {
    const found = await compute(
      { organizationId, method: fitName(claim.number), asOf: claim.asOf },
      { signal: reporter.signal, onProgress: (share, message) => reporter.say(share, message) },
    );
    await reporter.stop();
    await withSql(tenant, async (client) => {
      if (found.ok) await keepFit(client, tenant, fitId, claim.asOf, found.value);
      else await endFit(client, fitId, "failed", inWords(found.problems));
    });
  } catch (error) {
    if (signal.aborted) {
      await withSql(tenant, (client) => requeueFit(client, fitId));
      throw error;
    }
    if (reporter.isCancelled) return;
    const message = `The fit could not be made: ${messageOf(error)}. Nothing was changed; start it again.`;
    await withSql(tenant, (client) => endFit(client, fitId, "failed", message));
  } finally {
    await reporter.stop();
  }
}

async function keepFit(
  client: TenantClient,
  tenant: Tenant,
  fitId: string,
  asOf: CalendarDay,
  found: FitFound,
): Promise<void> {
  const { organizationId } = tenant;
  await lockFits(client, organizationId);
  const stored = await storeFit(client, fitId, found);
  if (!stored) return;
  await enqueueJob(client, "back-test", { organizationId, fitId } satisfies FitJob);
  if (!stored.adoptsItself) return;
  await adoptFit(client, fitId, null);
  await writeAudit(client, organizationId, {
    userId: null,
    action: "risk.adopt",
    entity: "SurvivalFit",
    entityId: fitId,
    after: { method: found.model.method },
  });
  await requestRiskPass(client, tenant, asOf);
}

/**
 * Reads every life on record and learns from it: the model, what is shown of it, and a fingerprint of
 * all that went in.
 */
export async function computeFit(
  { organizationId, method, asOf }: FitRequest,
  onProgress: OnProgress = () => undefined,
): Promise<Outcome<FitFound>> {
  const tenant: Tenant = { organizationId };
  const { records, withoutEnd, inUse } = await withSql(tenant, async (client) => ({
    ...(await readLives(client, organizationId, (share, message) =>
      onProgress(0.35 * share, message),
    )),
    inUse: await loadCurrentModel(client),
  }));
  const lives = `${format(records.length)} ${records.length === 1 ? "life" : "lives"}`;
  onProgress(0.35, `Learning from ${lives}`);
  const fit = fitRecords(records, {
    today: asOf,
    method,
    onProgress: (share) => onProgress(0.35 + 0.4 * share, `Learning from ${lives}`),
  });
  if (!fit.ok) return failure(...(await withSuspects(tenant, fit.problems, records, asOf)));
  const leftOutBefore = withoutEnd.map((id) => ({
    path: id,
    message: "it is retired, and nothing on record says when it ended",
  }));
  if (fit.value.counts.used === 0) {
    return failure(nothingToLearn([...leftOutBefore, ...fit.value.leftOut]));
  }
  const report = reportFit(fit.value, records, {
    today: asOf,
    inUse,
    leftOutBefore,
    onProgress: (share) => onProgress(0.75 + 0.24 * share, "Comparing with the model in use"),
  });
  return success({
    fingerprint: fingerprintOf(records, asOf),
    model: fit.value.model,
    report,
  });
}

async function readLives(client: TenantClient, organizationId: string, onProgress: OnProgress) {
  const total = await countHeaters(client);
  return loadLives(client, organizationId, (read) =>
    onProgress(
      total === 0 ? 1 : read / total,
      `Reading the record: ${format(read)} of ${format(total)} heaters`,
    ),
  );
}

function nothingToLearn(problems: readonly Problem[]): Problem {
  if (problems.length === 0) {
    return {
      path: "records",
      message: "There is no heater on record to learn from. Bring in your heaters first.",
    };
  }
  const { total, reasons } = summarizeLeftOut(problems);
  const why = reasons.map(({ reason, records }) => `${reason} (${format(records)})`).join("; ");
  return {
    path: "records",
    message: `None of the ${format(total)} heaters on record says how long heaters last: ${why}. Bring in heaters that have been retired, with the day and the cause of their end, and set the day from which ends were recorded.`,
  };
}

/** Lives longer than all others are where a wrong day shows; so many are named. */
const SUSPECTS = 5;

async function withSuspects(
  tenant: Tenant,
  problems: readonly Problem[],
  records: readonly LifeRecord[],
  asOf: CalendarDay,
): Promise<readonly Problem[]> {
  const longest = records
    .map(({ heater, ...life }) => ({
      id: heater.id,
      years: watchedSpan({ heater, ...life }, asOf)?.exit ?? 0,
    }))
    .sort((a, b) => b.years - a.years)
    .slice(0, SUSPECTS);
  const names = await withSql(tenant, (client) =>
    nameHeaters(
      client,
      longest.map(({ id }) => id),
    ),
  );
  const named = longest.map(
    ({ id, years }) => `${names.get(id)?.tag ?? id} (${years.toFixed(0)} years)`,
  );
  return [
    ...problems,
    { path: "records", message: `The longest lives on record are ${named.join(", ")}` },
  ];
}

/** Fingerprint of all that a fit rests on: the same record gives the same fit, whoever makes it. */
function fingerprintOf(records: readonly LifeRecord[], asOf: CalendarDay): string {
  const hash = createHash("sha256");
  hash.update(`${JSON.stringify([FIT_METHOD, asOf, PRIOR_MODEL])}\n`);
  // Lives come in the order of their ids, each with its parts in a set order.
  for (const record of records) hash.update(`${JSON.stringify(record)}\n`);
  return hash.digest("hex");
}

// ---- the back-test ----

/** Makes the back-test of a fit that is done and keeps it with the fit; see {@link executeFit}. */
export async function executeBackTest(
  data: unknown,
  {
    signal,
    compute,
  }: { readonly signal: AbortSignal; readonly compute: ComputeAside<BackTestReport> },
): Promise<void> {
  const { organizationId, fitId } = fitJobSchema.parse(data);
  const tenant: Tenant = { organizationId };
  const claim = await withSql(tenant, (client) => claimBackTest(client, fitId));
  if (!claim) return;
  const reporter = new WorkReporter(signal, async (progress) => {
    await withSql(tenant, (client) => writeBackTestProgress(client, fitId, progress));
    return true;
  });
  const end = (found: Parameters<typeof endBackTest>[2]) =>
    withSql(tenant, (client) => endBackTest(client, fitId, found));
  try {
    const tested = await compute(
      { organizationId, method: "back-test", asOf: claim.asOf },
      { signal: reporter.signal, onProgress: (share, message) => reporter.say(share, message) },
    );
    await reporter.stop();
    await end(tested.ok ? { backTest: tested.value } : { message: inWords(tested.problems) });
  } catch (error) {
    if (signal.aborted) {
      await withSql(tenant, (client) => requeueBackTest(client, fitId));
      throw error;
    }
    await end({ message: `The back-test could not be made: ${messageOf(error)}.` });
  } finally {
    await reporter.stop();
  }
}

/** Reads every life on record and tries the model on past years. */
export async function computeBackTest(
  { organizationId, asOf }: FitRequest,
  onProgress: OnProgress = () => undefined,
): Promise<Outcome<BackTestReport>> {
  const { records } = await withSql({ organizationId }, (client) =>
    readLives(client, organizationId, (share, message) => onProgress(0.1 * share, message)),
  );
  return runBackTest(records, asOf, (share) =>
    onProgress(0.1 + 0.9 * share, "Predicting past years"),
  );
}

// ---- words ----

function inWords(problems: readonly Problem[]): string {
  return problems
    .map(({ message }) => {
      const sentence = message.charAt(0).toUpperCase() + message.slice(1);
      return /[.!?]$/.test(sentence) ? sentence : `${sentence}.`;
    })
    .join(" ");
}

function messageOf(error: unknown): string {
  return error instanceof Error ? error.message.replace(/\.$/, "") : String(error);
}

function format(number: number): string {
  return new Intl.NumberFormat("en-US").format(number);
}
