import { z } from "zod";
import { EntrySums, entryWeigher, inventoryOfEntries } from "@/lib/core/emissions/account-entries";
import type { AccountSummary } from "@/lib/core/emissions/account-summary";
import { factorBookOf, isRefrigerant } from "@/lib/core/emissions/factors";
import type { PlannedSwap } from "@/lib/core/emissions/planned-path";
import { middleDay } from "@/lib/core/energy/meter-readings";
import { addDays, type CalendarDay, dayFromParts, yearOf } from "@/lib/core/shared/calendar-day";
import { loadPlannedSwaps, type PlannedSwaps } from "@/lib/data/emissions";
import { instrumentOf, listInstruments } from "@/lib/data/emissions-instruments";
import { listPolicies } from "@/lib/data/emissions-policies";
import {
  type AccountProperty,
  listAccountProperties,
  loadBuildingNames,
  loadPropertyRecords,
  readRecordStamp,
} from "@/lib/data/emissions-record";
import {
  claimEmissionsRun,
  clearRun,
  type EmissionsRunRequest,
  endEmissionsRun,
  findEmissionsRun,
  finishRun,
  insertEmissionsRun,
  insertRunEntries,
  insertRunYears,
  readRunEntries,
  requeueEmissionsRun,
  writeEmissionsProgress,
} from "@/lib/data/emissions-runs";
import { readEmissionsTerms } from "@/lib/data/emissions-terms";
import { factorsInForce, listOwnFactors } from "@/lib/data/factors";
import { enqueueJob } from "@/lib/data/job-queue";
import { type CatalogueOption, listOptions } from "@/lib/data/options";
import { type SqlClient, type Tenant, type TenantClient, withSql } from "@/lib/data/tenant";
import {
  ACCOUNT_METHOD,
  AccountBuilder,
  type AccountInput,
  type AccountPlan,
  type AccountRules,
  Fingerprint,
} from "./emissions-account";
import { adoptRun } from "./emissions-adoption";

/** What the queue carries for a run. */
export const emissionsJobSchema = z.object({
  organizationId: z.uuid(),
  runId: z.uuid(),
  /** The demo's first account: its base year is adopted without a person, and last year's follows. */
  opensAccounts: z.boolean().optional(),
});
export type EmissionsJob = z.output<typeof emissionsJobSchema>;

/** Properties are read together up to this many heaters: memory is that of one such group. */
const HEATERS_AT_ONCE = 1_500;

/** The run was cancelled: what was written of it is rolled back. */
class Cancelled extends Error {}

/**
 * Computes a requested account and keeps it: its rows, its factors, its fingerprint. Tried again after
 * a crash it starts over and keeps one account; a run that has ended is left alone.
 *
 * @param signal the worker is stopping: the run goes back into the queue
 */
export async function executeEmissionsRun(
  data: unknown,
  { signal }: { readonly signal: AbortSignal },
): Promise<void> {
  const job = emissionsJobSchema.parse(data);
  const tenant: Tenant = { organizationId: job.organizationId };
  const run = await withSql(tenant, (client) => claimEmissionsRun(client, job.runId));
  if (!run) return;
  const say = async (progress: number, message: string) => {
    signal.throwIfAborted();
    const goesOn = await withSql(tenant, (client) =>
      writeEmissionsProgress(client, job.runId, progress, message),
    );
    if (!goesOn) throw new Cancelled();
  };
  try {
    await withSql(tenant, async (client) => {
      const stamp = await readRecordStamp(client);
      const properties = await listAccountProperties(client);
      const input = await readAccountInput(client, run);
      await clearRun(client, job.runId);
      const builder = new AccountBuilder(input);
      const total = properties.reduce((sum, { heaters }) => sum + heaters, 0);
      let done = 0;
      for (const group of groupsOf(properties)) {
        await say(0.05 + (0.85 * done) / Math.max(1, total), `Accounting for ${group[0]?.name}`);
        const homesOf = new Map(group.map(({ id, homes }) => [id, homes]));
        const records = await loadPropertyRecords(
          client,
          group.map(({ id }) => id),
          dayFromParts(input.baseYear, 1, 1),
        );
        for (const record of records) {
          const entries = builder.add(record, homesOf.get(record.propertyId) ?? 0);
          await insertRunEntries(client, job.organizationId, job.runId, entries);
        }
        done += group.reduce((sum, { heaters }) => sum + heaters, 0);
      }
      await say(0.92, "Adding up and keeping the account");
      const { summary, fingerprint, factors, years } = builder.finish();
      await insertRunYears(client, job.organizationId, job.runId, years);
      const buildings = await loadBuildingNames(client);
      const isStored = await finishRun(client, job.runId, {
        method: ACCOUNT_METHOD,
        fingerprint,
        stamp,
        terms: input.rules,
        factors,
        names: {
          properties: Object.fromEntries(properties.map(({ id, name }) => [id, name])),
          buildings: Object.fromEntries(buildings),
        },
        summary,
      });
      if (!isStored) throw new Cancelled();
      if (job.opensAccounts) await openAccounts(client, job, run);
    });
  } catch (error) {
    if (signal.aborted) {
      await withSql(tenant, (client) => requeueEmissionsRun(client, job.runId));
      throw error;
    }
    if (error instanceof Cancelled) return;
    const reason = error instanceof Error ? error.message.replace(/\.$/, "") : String(error);
    await withSql(tenant, (client) =>
      endEmissionsRun(client, job.runId, "failed", `The account could not be computed: ${reason}.`),
    );
  }
}

/**
 * Asks for the demo's first account, of its base year. A worker makes it, so that the start does not
 * wait; when it is done its figure is adopted and last year's account is asked for.
 */
export async function accountForDemo(tenant: Tenant, today: CalendarDay): Promise<void> {
  await withSql(tenant, async (client) => {
    const { terms } = await readEmissionsTerms(client);
    const baseYear = terms.baseYear ?? yearOf(today) - 1;
    const run = { year: baseYear, baseYear, asOf: today, planRunId: null };
    await queueDemoAccount(client, tenant, run, { opensAccounts: true });
  });
}

async function openAccounts(
  client: TenantClient,
  { organizationId, runId }: EmissionsJob,
  run: Omit<EmissionsRunRequest, "requestedBy">,
): Promise<void> {
  const adopted = await adoptRun(client, organizationId, runId, {
    today: run.asOf,
    updatedBy: null,
  });
  if (!adopted.ok) throw new Error(adopted.problems[0]?.message);
  await queueDemoAccount(client, { organizationId }, { ...run, year: yearOf(run.asOf) - 1 }, {});
}

async function queueDemoAccount(
  client: TenantClient,
  { organizationId }: Tenant,
  run: Omit<EmissionsRunRequest, "requestedBy">,
  extra: Pick<EmissionsJob, "opensAccounts">,
): Promise<void> {
  const runId = await insertEmissionsRun(client, organizationId, { ...run, requestedBy: null });
  const job: EmissionsJob = { organizationId, runId, ...extra };
  await enqueueJob(client, "emissions", job);
}

function groupsOf(properties: readonly AccountProperty[]): readonly AccountProperty[][] {
  const groups: AccountProperty[][] = [];
  let heaters = 0;
  for (const property of properties) {
    const last = groups.at(-1);
    if (last && heaters + property.heaters <= HEATERS_AT_ONCE) {
      last.push(property);
      heaters += property.heaters;
    } else {
      groups.push([property]);
      heaters = property.heaters;
    }
  }
  return groups;
}

/** Rules, factors, contracts, policies and plan as they stand. */
async function readAccountInput(
  client: SqlClient,
  run: {
    readonly year: number;
    readonly baseYear: number;
    readonly asOf: CalendarDay;
    readonly planRunId: string | null;
  },
): Promise<AccountInput> {
  const { terms } = await readEmissionsTerms(client);
  const instruments = await listInstruments(client);
  const contractsByYear: Record<string, AccountRules["contractsByYear"][string]> = {};
  for (let year = run.baseYear; year <= Math.max(run.year, yearOf(run.asOf)); year++) {
    const used = instruments.filter(
      ({ firstYear, lastYear }) => firstYear <= year && year <= lastYear,
    );
    if (used.length === 0) continue;
    contractsByYear[String(year)] = {
      market: terms.market,
      residualMix: null,
      instruments: used.map(instrumentOf),
    };
  }
  const policies = await listPolicies(client);
  const planned = await loadPlannedSwaps(client, run.planRunId);
  return {
    year: run.year,
    baseYear: run.baseYear,
    asOf: run.asOf,
    rules: {
      terms,
      contractsByYear,
      policies: policies.map(({ id, name, propertyId, rule, source }) => ({
        id,
        name,
        propertyId,
        rule,
        source,
      })),
    },
    ownFactors: factorsInForce(await listOwnFactors(client)),
    plan: planned && accountPlan(planned, await listOptions(client)),
  };
}

function accountPlan(
  planned: PlannedSwaps,
  options: readonly CatalogueOption[],
): AccountPlan | null {
  const [first] = planned.terms.periods;
  const last = planned.terms.periods.at(-1);
  if (!first || !last) return null;
  const optionOf = new Map(options.map((option) => [option.code, option]));
  const dayOf = new Map(
    planned.terms.periods.map(({ id, start, end }) => [
      id,
      middleDay(start as CalendarDay, addDays(end as CalendarDay, -1)),
    ]),
  );
  return {
    runId: planned.runId,
    scenarioName: planned.scenarioName,
    asOf: planned.terms.startDay as CalendarDay,
    firstYear: yearOf(planned.terms.startDay as CalendarDay),
    lastYear: yearOf(last.start as CalendarDay) + 1,
    lines: new Map(
      [...planned.lines].map(([heaterId, line]) => {
        const option = line && optionOf.get(line.optionCode);
        const day = line && dayOf.get(line.period);
        return [heaterId, option && day ? swapOf(option, day) : null];
      }),
    ),
  };
}

function swapOf({ terms }: CatalogueOption, day: CalendarDay): Omit<PlannedSwap, "heaterId"> {
  const { refrigerant } = terms;
  return {
    day,
    option: {
      technology: terms.technology,
      volumeGal: terms.volumeGal,
      uniformEnergyFactor: terms.uniformEnergyFactor.value,
      inputWatts: null,
    },
    charge:
      refrigerant && isRefrigerant(refrigerant.type)
        ? { refrigerant: refrigerant.type, kg: refrigerant.chargeKg.value }
        : null,
  };
}

/** What computing a kept account again from its own rows and factors finds. */
export type Reproduction = {
  readonly reproduces: boolean;
  readonly entries: number;
  /** Largest difference of a scope's total, kilograms. */
  readonly largestDifferenceKg: number;
  readonly fingerprint: string;
};

/** Half a gram: sums of the same numbers differ by rounding at most. */
const TOLERANCE_KG = 0.0005;

/**
 * Computes a kept account again, from its own rows, factor rows and contracts and from nothing else,
 * and compares totals and fingerprint. Null when the run has no account.
 */
export async function reproduceRun(client: SqlClient, runId: string): Promise<Reproduction | null> {
  const run = await findEmissionsRun(client, runId);
  if (run?.status !== "done" || !run.factors) return null;
  const rules = run.terms as AccountRules;
  const summary = run.summary as AccountSummary;
  const book = factorBookOf(run.factors);
  const basis = {
    year: run.year,
    gwpSet: rules.terms.gwpSet,
    book,
    contracts: rules.contractsByYear[String(run.year)] ?? {
      market: rules.terms.market,
      residualMix: null,
      instruments: [],
    },
  };
  const weigh = entryWeigher(basis);
  const fingerprint = new Fingerprint({ year: run.year, baseYear: run.baseYear, rules });
  const sums = new EntrySums();
  let entries = 0;
  let largestDifferenceKg = 0;
  for await (const page of readRunEntries(client, runId)) {
    for (const entry of page) {
      entries += 1;
      sums.add(entry);
      fingerprint.addEntry(entry);
      largestDifferenceKg = Math.max(largestDifferenceKg, Math.abs(weigh(entry) - entry.kgCo2e));
    }
  }
  const { kgCo2e } = inventoryOfEntries(sums, basis);
  for (const scope of Object.keys(kgCo2e) as (keyof typeof kgCo2e)[]) {
    const difference = Math.abs(kgCo2e[scope] - summary.kgCo2e[scope]);
    largestDifferenceKg = Math.max(largestDifferenceKg, difference);
  }
  const digest = fingerprint.digest(run.factors);
  return {
    reproduces: digest === run.fingerprint && largestDifferenceKg < TOLERANCE_KG,
    entries,
    largestDifferenceKg,
    fingerprint: digest,
  };
}
