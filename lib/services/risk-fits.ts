import "server-only";
import { z } from "zod";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import { failure, type Outcome, success } from "@/lib/core/shared/outcome";
import { FIT_METHOD } from "@/lib/core/survival/fit-records";
import type { LearntQuantity } from "@/lib/core/survival/learning";
import { PRIOR_MODEL } from "@/lib/core/survival/model";
import { writeAudit } from "@/lib/data/audit";
import { countHeaters } from "@/lib/data/history";
import { enqueueJob } from "@/lib/data/job-queue";
import { listScoredProperties } from "@/lib/data/risk";
import {
  adoptFit,
  endFit,
  type FitRecord,
  type FitRow,
  findAdoptedFit,
  findFit,
  type HeaterName,
  listFits,
  lockFits,
  nameHeaters,
  queueBackTest,
} from "@/lib/data/survival-fits";
import { type TenantClient, withSql } from "@/lib/data/tenant";
import { mayDo } from "./permissions";
import { type FitJob, queueFit } from "./risk-fit-run";
import { fitName } from "./risk-model";
import { requestRiskPass } from "./risk-scoring";
import { requireAction, type Viewer } from "./viewer";

export type { FitRecord, FitRow, FitStatus } from "@/lib/data/survival-fits";

const isId = (text: string) => z.uuid().safeParse(text).success;
const isUnderWay = ({ status }: FitRow) => status === "queued" || status === "running";

export type FitsView = {
  /** The latest first. */
  readonly fits: readonly FitRow[];
  /** The fit that ranks; null when published lifetimes do. */
  readonly inUse: FitRow | null;
  readonly isUnderWay: boolean;
  readonly heaters: number;
  readonly mayRun: boolean;
};

/** The history of fits. */
export function readFits(viewer: Viewer): Promise<FitsView> {
  requireAction(viewer, "record.read");
  return withSql(viewer, async (client) => {
    const fits = await listFits(client);
    return {
      fits,
      inUse: fits.find(({ isAdopted, method }) => isAdopted && method === FIT_METHOD) ?? null,
      isUnderWay: fits.some(isUnderWay),
      heaters: await countHeaters(client),
      mayRun: mayDo(viewer.role, "risk.run"),
    };
  });
}

/** A fit with the names of what it speaks of. */
export type FitDetail = {
  readonly fit: FitRecord;
  /** By id; a property that is gone has none. */
  readonly propertyNames: Readonly<Record<string, string>>;
  readonly heaterNames: Readonly<Record<string, HeaterName>>;
};

export type FitView = FitDetail & {
  readonly inUse: FitRow | null;
  /** Numbers of the model that it was held against; null when that was published lifetimes. */
  readonly learntBefore: readonly LearntQuantity[] | null;
  /** False when its model is of a method this program no longer reads. */
  readonly isReadable: boolean;
  /** An earlier fit of the very same record, day and method. */
  readonly sameAs: FitRow | null;
  readonly mayRun: boolean;
};

/** Everything about one fit; null when the viewer's organisation has no such fit. */
export function readFit(viewer: Viewer, id: string): Promise<FitView | null> {
  requireAction(viewer, "record.read");
  return withSql(viewer, async (client) => {
    const fit = isId(id) ? await findFit(client, id) : null;
    if (!fit) return null;
    const fits = await listFits(client);
    const against = fit.report?.comparison.against ?? PRIOR_MODEL.method;
    const before = fits.find(({ number }) => fitName(number) === against);
    return {
      ...(await nameParts(client, fit)),
      inUse: fits.find(({ isAdopted, method }) => isAdopted && method === FIT_METHOD) ?? null,
      learntBefore: before ? ((await findFit(client, before.id))?.report?.learning ?? null) : null,
      isReadable: fit.method === FIT_METHOD,
      sameAs:
        fits.find(
          ({ number, fingerprint }) =>
            fingerprint !== null && fingerprint === fit.fingerprint && number < fit.number,
        ) ?? null,
      mayRun: mayDo(viewer.role, "risk.run"),
    };
  });
}

/** The fit in use, with names; null when published lifetimes rank. */
export async function findFitInUse(client: TenantClient): Promise<FitDetail | null> {
  const fit = await findAdoptedFit(client, FIT_METHOD);
  return fit && nameParts(client, fit);
}

/** Which fit is in use, for a line beside its numbers; null when published lifetimes rank. */
export async function findFitName(
  client: TenantClient,
): Promise<Pick<FitRow, "id" | "number" | "asOf" | "failures"> | null> {
  const fits = await listFits(client);
  return fits.find(({ isAdopted, method }) => isAdopted && method === FIT_METHOD) ?? null;
}

async function nameParts(client: TenantClient, fit: FitRecord): Promise<FitDetail> {
  const { report } = fit;
  const heaters = await nameHeaters(client, [
    ...(report?.comparison.movers.map(({ heaterId }) => heaterId) ?? []),
    ...(report?.leftOut.named.map(({ path }) => path) ?? []),
  ]);
  const properties = await listScoredProperties(client);
  return {
    fit,
    heaterNames: Object.fromEntries(heaters),
    propertyNames: Object.fromEntries(properties.map(({ id, name }) => [id, name])),
  };
}

/** Asks for a fit to the record as of `today`; one at a time. */
export function requestFit(
  viewer: Viewer,
  today: CalendarDay,
): Promise<Outcome<{ readonly fitId: string }>> {
  requireAction(viewer, "risk.run");
  return withSql(viewer, async (client) => {
    await lockFits(client, viewer.organizationId);
    const underWay = (await listFits(client)).find(isUnderWay);
    if (underWay) {
      return refuse(`Fit ${underWay.number} is under way: wait for it, or cancel it first.`);
    }
    if ((await countHeaters(client)) === 0) {
      return refuse("There is no heater on record to learn from. Bring in your heaters first.");
    }
    const fit = await queueFit(client, viewer, { asOf: today, requestedBy: viewer.userId });
    await note(client, viewer, "risk.fit", fit.id, { number: fit.number });
    return success({ fitId: fit.id });
  });
}

/** Ends a fit that waits or is under way. Its worker notices within seconds. */
export function cancelFit(viewer: Viewer, id: string): Promise<Outcome<null>> {
  requireAction(viewer, "risk.run");
  return withSql(viewer, async (client) => {
    const isEnded =
      isId(id) && (await endFit(client, id, "cancelled", "Cancelled before a model was found."));
    if (!isEnded) return refuse("This fit had already ended: nothing was changed.");
    await note(client, viewer, "risk.fit.cancel", id, null);
    return success(null);
  });
}

/**
 * Takes a fit into use, or published lifetimes with `id` null, and asks for the whole fleet to be
 * scored anew.
 */
export function adoptModel(
  viewer: Viewer,
  id: string | null,
  today: CalendarDay,
): Promise<Outcome<null>> {
  requireAction(viewer, "risk.run");
  return withSql(viewer, async (client) => {
    await lockFits(client, viewer.organizationId);
    const before = await findAdoptedFit(client, FIT_METHOD);
    const fit = id !== null && isId(id) ? await findFit(client, id) : null;
    if (id !== null) {
      if (fit?.status !== "done") return refuse("This fit has no model: nothing was changed.");
      if (fit.method !== FIT_METHOD) {
        return refuse(`Fit ${fit.number} was made by an earlier method: start a new fit.`);
      }
    }
    if ((fit?.id ?? null) === (before?.id ?? null)) {
      return refuse("This is what ranks already: nothing was changed.");
    }
    await adoptFit(client, fit?.id ?? null, viewer.userId);
    const methodOf = (one: FitRow | null) => (one ? fitName(one.number) : PRIOR_MODEL.method);
    await writeAudit(client, viewer.organizationId, {
      userId: viewer.userId,
      action: "risk.adopt",
      entity: "SurvivalFit",
      entityId: fit?.id ?? null,
      before: { method: methodOf(before) },
      after: { method: methodOf(fit) },
    });
    await requestRiskPass(client, viewer, today);
    return success(null);
  });
}

/** Asks for the back-test of a fit again, after one that could not be made. */
export function requestBackTest(viewer: Viewer, id: string): Promise<Outcome<null>> {
  requireAction(viewer, "risk.run");
  return withSql(viewer, async (client) => {
    if (!isId(id) || !(await queueBackTest(client, id))) {
      return refuse("There is nothing to test, or the back-test is under way already.");
    }
    const job: FitJob = { organizationId: viewer.organizationId, fitId: id };
    await enqueueJob(client, "back-test", job);
    return success(null);
  });
}

function note(
  client: TenantClient,
  viewer: Viewer,
  action: string,
  entityId: string,
  after: unknown,
): Promise<void> {
  return writeAudit(client, viewer.organizationId, {
    userId: viewer.userId,
    action,
    entity: "SurvivalFit",
    entityId,
    after,
  });
}

const refuse = (message: string): Outcome<never> => failure({ path: "", message });
