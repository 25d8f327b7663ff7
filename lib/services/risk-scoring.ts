import type { Heater } from "@/lib/core/heaters/heater";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import { bandFleet12Months } from "@/lib/core/survival/bands";
import { type ConsequenceAssumptions, estimateLoss } from "@/lib/core/survival/consequence";
import { DEFAULT_DRAWS, drawModels, type ModelDraw } from "@/lib/core/survival/draws";
import type { SurvivalModel } from "@/lib/core/survival/model";
import { forecastFailure } from "@/lib/core/survival/predict";
import { loadFleet } from "@/lib/data/fleet";
import { readHistory } from "@/lib/data/history";
import { enqueueJob } from "@/lib/data/job-queue";
import {
  countPendingPasses,
  findInService,
  listScoredProperties,
  lockRiskPass,
  lockRiskRequests,
  openRiskStage,
  type RiskRow,
  readRiskState,
  replaceRiskYears,
  writeRisks,
} from "@/lib/data/risk";
import { readOrganization } from "@/lib/data/settings";
import { type SqlClient, type Tenant, type TenantClient, withSql } from "@/lib/data/tenant";
import { loadCurrentModel, readCurrentMethod } from "./risk-model";
import { YearTally } from "./risk-years";
import { readOwnConsequences, resolveConsequences } from "./settings-consequences";

/** Where the draws from the model's own doubt start: the same every time, so that bands keep still. */
const DRAW_SEED = 20_110_801;
/** Draws behind the failures by year, of which every draw is kept. */
const YEAR_DRAWS = 40;
const PAGE_SIZE = 2_000;
/** Largest number that the column of expected loss holds: $21 million a year for one heater. */
const MOST_CENTS = 2_147_483_647;

export type RiskPass = {
  /** Heaters whose risk was written. */
  readonly written: number;
};

/**
 * Scores every heater in service as of `today` and writes the ranking and the failures by year, in one
 * transaction: what stood before stands until all is done. Memory is that of one page of heaters.
 *
 * @throws the signal's reason when it is aborted; nothing is written then.
 */
export function runRiskPass(
  tenant: Tenant,
  { today, signal }: { readonly today: CalendarDay; readonly signal?: AbortSignal },
): Promise<RiskPass> {
  return withSql(tenant, async (client) => {
    const { organizationId } = tenant;
    await lockRiskPass(client, organizationId);
    const assumptions = await loadAssumptions(client);
    const model = await loadCurrentModel(client);
    const draws = await drawForBands(client, model);
    const tally = new YearTally(today, model, draws.slice(0, YEAR_DRAWS));
    const scoring = { model, draws, assumptions, today };
    const stage = await openRiskStage(client);
    for await (const { lives } of readHistory(client, organizationId, PAGE_SIZE)) {
      signal?.throwIfAborted();
      for (const life of lives) tally.add(life);
      const inService = lives.filter(({ retirement }) => retirement === null);
      await stage.add(
        scoreHeaters(
          inService.map(({ heater }) => heater),
          scoring,
        ),
      );
    }
    signal?.throwIfAborted();
    const stamp = { organizationId, asOf: today, method: model.method };
    const written = await stage.publish(stamp);
    await replaceRiskYears(client, stamp, tally.rows());
    return { written };
  });
}

/** What heaters are scored with. */
type Scoring = {
  readonly model: SurvivalModel;
  /** Draws from the model's doubt, with the heaters' properties. */
  readonly draws: readonly ModelDraw[];
  readonly assumptions: ConsequenceAssumptions;
  readonly today: CalendarDay;
};

/** The heaters' risks as of a day, in their order. */
function scoreHeaters(
  heaters: readonly Heater[],
  { model, draws, assumptions, today }: Scoring,
): readonly RiskRow[] {
  const bands = bandFleet12Months(draws, heaters, today);
  return heaters.map((heater, i) => {
    const forecast = forecastFailure(model, heater, { today, horizonsYears: [1] });
    const [failureProbability] = forecast.failureProbabilities;
    const loss = estimateLoss(heater, failureProbability, assumptions);
    return {
      heaterId: heater.id,
      failureProbability,
      failureLower: bands.lower[i],
      failureUpper: bands.upper[i],
      medianRemainingYears: forecast.medianRemainingYears,
      expectedLossCents: Math.min(MOST_CENTS, loss.expected.totalCents),
      ageYears: forecast.ageYears,
    };
  });
}

/**
 * Renews the rows of a few heaters at once, in the transaction that changed them: those in service
 * are scored as of `today`, those that are not lose their row.
 */
export async function refreshHeaterRisk(
  client: SqlClient,
  { organizationId }: Tenant,
  heaterIds: readonly string[],
  today: CalendarDay,
): Promise<void> {
  if (heaterIds.length === 0) return;
  const inService = await findInService(client, heaterIds);
  const assumptions = await loadAssumptions(client);
  const { heaters } = await loadFleet(client, { heaterIds: [...inService] });
  const model = await loadCurrentModel(client);
  const draws = await drawForBands(client, model);
  await writeRisks(
    client,
    { organizationId, asOf: today, method: model.method },
    scoreHeaters(heaters, { model, draws, assumptions, today }),
    heaterIds.filter((id) => !inService.has(id)),
  );
}

/**
 * Draws from a model's doubt, for bands. With the same properties they are the same draws, so that a
 * heater's band is the same wherever it is shown.
 */
export async function drawForBands(
  client: SqlClient,
  model: SurvivalModel,
): Promise<readonly ModelDraw[]> {
  const properties = await listScoredProperties(client);
  const propertyIds = properties.map(({ id }) => id);
  return drawModels(model, { count: DEFAULT_DRAWS, seed: DRAW_SEED, propertyIds });
}

/** What a failure costs, by the organisation's own numbers where it has entered them. */
export async function loadAssumptions(client: SqlClient): Promise<ConsequenceAssumptions> {
  const { settings } = await readOrganization(client);
  return resolveConsequences(readOwnConsequences(settings.consequences));
}

/**
 * Asks for a pass over the fleet, as part of the caller's transaction. A request that already waits
 * covers this one. For changes of many heaters at once: an import, a property's water, the costs.
 *
 * @returns true when a new request was put into the queue
 */
export async function requestRiskPass(
  client: TenantClient,
  { organizationId }: Tenant,
  today: CalendarDay,
): Promise<boolean> {
  await lockRiskRequests(client, organizationId);
  const { waiting } = await countPendingPasses(client, organizationId);
  if (waiting > 0) return false;
  await enqueueJob(client, "risk", { organizationId, today });
  return true;
}

/** How fresh the ranking is. */
export type RiskFreshness = {
  readonly asOf: CalendarDay | null;
  readonly inService: number;
  readonly scored: number;
  /** A pass is waiting or under way. */
  readonly isComing: boolean;
};

/**
 * How fresh the ranking is. When a heater has no row, or one from before today or by another method,
 * a pass is asked for, unless one is waiting or under way already.
 */
export async function ensureFreshRisk(
  client: TenantClient,
  tenant: Tenant,
  today: CalendarDay,
): Promise<RiskFreshness> {
  const { inService, scored, asOf, yearsAsOf, methods } = await readRiskState(client);
  const isOfToday = asOf !== null && asOf >= today && yearsAsOf !== null && yearsAsOf >= today;
  const current = await readCurrentMethod(client);
  const isFresh =
    scored === inService &&
    (inService === 0 || isOfToday) &&
    methods.every((method) => method === current);
  const { waiting, running } = await countPendingPasses(client, tenant.organizationId);
  let isComing = waiting + running > 0;
  if (!isFresh && !isComing) {
    await requestRiskPass(client, tenant, today);
    isComing = true;
  }
  return { asOf, inService, scored, isComing };
}
