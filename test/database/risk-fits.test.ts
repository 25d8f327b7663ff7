import { randomUUID } from "node:crypto";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { writeDemo } from "@/demo-seed/write";
import { calendarDay } from "@/lib/core/shared/calendar-day";
import { covariateHistory } from "@/lib/core/survival/exposure";
import { PRIOR_MODEL } from "@/lib/core/survival/model";
import { type HeaterLife, loadLives, readHistory } from "@/lib/data/history";
import { withSql } from "@/lib/data/tenant";
import { runBackTestJob, runFitJob } from "@/lib/jobs/fit-job";
import { runRiskJob } from "@/lib/jobs/risk-job";
import { loadDemo } from "@/lib/launch/demo";
import { readRisk, riskQuerySchema } from "@/lib/services/risk";
import {
  computeBackTest,
  computeFit,
  executeBackTest,
  executeFit,
  type FitFound,
  learnFromDemo,
} from "@/lib/services/risk-fit-run";
import {
  adoptModel,
  cancelFit,
  readFit,
  readFits,
  requestBackTest,
  requestFit,
} from "@/lib/services/risk-fits";
import { loadCurrentModel, readCurrentMethod } from "@/lib/services/risk-model";
import type { Viewer } from "@/lib/services/viewer";
import { anOrganization, openTestDatabase, type TestDatabase } from "@/test/support/database";

const TODAY = calendarDay("2026-11-25");
const NEVER_STOPPED = { signal: new AbortController().signal };
const IN_PLACE: Parameters<typeof executeFit>[1] = {
  ...NEVER_STOPPED,
  compute: (request, { onProgress }) => computeFit(request, onProgress),
};
const TEST_IN_PLACE: Parameters<typeof executeBackTest>[1] = {
  ...NEVER_STOPPED,
  compute: (request, { onProgress }) => computeBackTest(request, onProgress),
};

let database: TestDatabase;
let manager: Viewer;
let stranger: Viewer;
/** A fit of the demo that is done, with its back-test; tests that only look share it. */
let doneFit: string;
/** The ids of the demo follow from its seed, so that each has its own. */
let seed = 100;

beforeAll(async () => {
  database = await openTestDatabase();
  manager = await aDemo(150);
  stranger = await anOrganization(database, { name: "Another organisation" });
  doneFit = await aFit(manager);
  await runFitJob(jobOf(manager, doneFit), NEVER_STOPPED);
  await runBackTestJob(jobOf(manager, doneFit), NEVER_STOPPED);
});

afterAll(async () => {
  await database?.close();
});

async function aDemo(heaters: number): Promise<Viewer> {
  const person = await anOrganization(database, { role: "manager" });
  const options = { seed: ++seed, today: TODAY, heaters, people: false };
  return { ...person, organizationId: await writeDemo(database.ownerUrl, options) };
}

async function aFit(viewer: Viewer): Promise<string> {
  const requested = await requestFit(viewer, TODAY);
  if (!requested.ok) throw new Error(JSON.stringify(requested.problems));
  return requested.value.fitId;
}

const jobOf = ({ organizationId }: Viewer, fitId: string) => ({ organizationId, fitId });

async function look(viewer: Viewer, id: string) {
  const view = await readFit(viewer, id);
  if (!view) throw new Error("no such fit");
  return view;
}

async function modelOf(id: string): Promise<unknown> {
  const { rows } = await database.owner.query('SELECT model FROM "SurvivalFit" WHERE id = $1', [
    id,
  ]);
  return rows[0].model;
}

function jobsOf(queue: string, { organizationId }: Viewer) {
  return database.owner.query(
    "SELECT data FROM pgboss.job WHERE name = $1 AND data ->> 'organizationId' = $2",
    [queue, organizationId],
  );
}

/** An organisation with heaters of its own, put in by hand; retired ones with or without an end. */
async function aSmallRecord(
  viewer: Viewer,
  heaters: readonly {
    readonly tag: string;
    readonly installed: string;
    readonly recordedFrom: string;
    readonly ended?: { readonly day: string; readonly cause: string } | "nobody knows";
  }[],
): Promise<ReadonlyMap<string, string>> {
  const { owner } = database;
  const { organizationId } = viewer;
  const propertyId = randomUUID();
  const buildingId = randomUUID();
  await owner.query('INSERT INTO "Property" (id, "organizationId", name) VALUES ($1, $2, $3)', [
    propertyId,
    organizationId,
    "Elm Court",
  ]);
  await owner.query(
    'INSERT INTO "Building" (id, "organizationId", "propertyId", name) VALUES ($1, $2, $3, $4)',
    [buildingId, organizationId, propertyId, "North"],
  );
  const idOf = new Map<string, string>();
  for (const { tag, installed, recordedFrom, ended } of heaters) {
    const id = randomUUID();
    idOf.set(tag, id);
    await owner.query(
      `INSERT INTO "Heater" (id, "organizationId", "buildingId", tag, technology, fuel, status,
         "installEarliest", "installLatest", "recordedFrom")
       VALUES ($1, $2, $3, $4, 'gas-storage', 'natural-gas', $5, $6, $6, $7)`,
      [
        id,
        organizationId,
        buildingId,
        tag,
        ended ? "retired" : "in-service",
        installed,
        recordedFrom,
      ],
    );
    if (!ended || ended === "nobody knows") continue;
    await owner.query(
      `INSERT INTO "Retirement" (id, "organizationId", "heaterId", earliest, latest, cause)
       VALUES ($1, $2, $3, $4, $4, $5)`,
      [randomUUID(), organizationId, id, ended.day, ended.cause],
    );
  }
  return idOf;
}

describe("asking for a fit", () => {
  test("writes the fit and its job together, and refuses another while it is under way", async () => {
    const viewer = await aDemo(50);
    const id = await aFit(viewer);

    expect((await look(viewer, id)).fit).toMatchObject({ number: 1, status: "queued" });
    expect((await jobsOf("fit", viewer)).rows).toEqual([{ data: jobOf(viewer, id) }]);
    expect(await requestFit(viewer, TODAY)).toMatchObject({
      ok: false,
      problems: [{ message: expect.stringMatching(/^Fit 1 is under way/) }],
    });
  });

  test("is refused without a heater on record, with the next step", async () => {
    expect(await requestFit(stranger, TODAY)).toMatchObject({
      ok: false,
      problems: [{ message: expect.stringMatching(/Bring in your heaters first/) }],
    });
  });

  test("is refused to a role that only looks", async () => {
    expect(() => requestFit({ ...manager, role: "viewer" }, TODAY)).toThrow(/not-allowed/);
    expect(() => adoptModel({ ...manager, role: "sustainability" }, doneFit, TODAY)).toThrow(
      /not-allowed/,
    );
  });
});

describe("a fit by the worker", () => {
  test("keeps its model, what was learnt, what was left out and the fingerprint of all that went in", async () => {
    const { fit } = await look(manager, doneFit);
    expect(fit).toMatchObject({ number: 1, status: "done", progress: 1, message: null });
    expect(fit.fingerprint).toMatch(/^[0-9a-f]{64}$/);
    const { report } = fit;
    expect(report?.counts.failures).toBeGreaterThan(20);
    expect(report?.counts.lateEntries).toBeGreaterThan(0);
    expect(report?.counts.bracketedInstalls).toBeGreaterThan(0);
    expect(report?.comparison.against).toBe(PRIOR_MODEL.method);
    expect(JSON.stringify(await modelOf(doneFit))).not.toMatch(/null/);
  });

  test("reads every life of the record: each is used or left out", async () => {
    const { fit } = await look(manager, doneFit);
    const { rows } = await database.owner.query(
      'SELECT count(*)::int AS heaters FROM "Heater" WHERE "organizationId" = $1',
      [manager.organizationId],
    );
    expect((fit.report?.counts.used ?? 0) + (fit.report?.leftOut.total ?? 0)).toBe(rows[0].heaters);
    const failed = await database.owner.query(
      `SELECT count(*)::int AS failures FROM "Retirement"
       WHERE "organizationId" = $1 AND cause IN ('leak', 'no-heat')`,
      [manager.organizationId],
    );
    const lost = fit.report?.leftOut.total ?? 0;
    expect(fit.report?.counts.failures).toBeLessThanOrEqual(failed.rows[0].failures);
    expect(fit.report?.counts.failures).toBeGreaterThanOrEqual(failed.rows[0].failures - lost);
  });

  test("has its back-test beside it, with the verdict in plain words", async () => {
    const { fit } = await look(manager, doneFit);
    expect(fit.backTestStatus).toBe("done");
    expect(fit.verdict?.headline).toMatch(/^Predicted \d+, happened \d+\.$/);
    expect(fit.backTest?.years.length).toBeGreaterThan(3);
    const { calibration, ageOnly, replaceAtTen } = fit.backTest ?? {};
    for (const scores of [calibration?.scores, ageOnly?.scores, replaceAtTen?.scores]) {
      expect(scores?.brier).toBeGreaterThan(0);
      expect(scores?.logarithmic).toBeGreaterThan(0);
    }
  });

  test("tried again when it is done changes nothing", async () => {
    const before = await look(manager, doneFit);
    await executeFit(jobOf(manager, doneFit), IN_PLACE);
    await executeBackTest(jobOf(manager, doneFit), TEST_IN_PLACE);
    expect(await look(manager, doneFit)).toEqual(before);
  });

  test("whose worker died starts over and finds the same, fingerprint and model", async () => {
    const id = await aFit(manager);
    await database.owner.query(`UPDATE "SurvivalFit" SET status = 'running' WHERE id = $1`, [id]);

    await executeFit(jobOf(manager, id), IN_PLACE);

    const { fit, sameAs } = await look(manager, id);
    expect(fit.status).toBe("done");
    expect(sameAs?.number).toBe(1);
    const plain = (model: unknown) => ({ ...(model as object), method: "" });
    expect(plain(await modelOf(id))).toEqual(plain(await modelOf(doneFit)));
  });

  test("goes back into the queue when the worker is stopped, and is done by the next", async () => {
    const id = await aFit(manager);
    const stopping = new AbortController();
    const stopped = executeFit(jobOf(manager, id), {
      signal: stopping.signal,
      compute: (_request, { signal }) =>
        new Promise((_resolve, reject) => {
          signal.addEventListener("abort", () => reject(signal.reason));
          stopping.abort();
        }),
    });

    await expect(stopped).rejects.toThrow(/stopping/);
    expect((await look(manager, id)).fit.status).toBe("queued");
    await executeFit(jobOf(manager, id), IN_PLACE);
    expect((await look(manager, id)).fit.status).toBe("done");
  });

  test("that is cancelled stays so and stores nothing", async () => {
    const id = await aFit(manager);
    await executeFit(jobOf(manager, id), {
      ...NEVER_STOPPED,
      compute: async (request) => {
        expect(await cancelFit(manager, id)).toMatchObject({ ok: true });
        return computeFit(request);
      },
    });
    const { fit } = await look(manager, id);
    expect(fit).toMatchObject({ status: "cancelled", report: null, backTestStatus: "none" });
    expect(await cancelFit(manager, id)).toMatchObject({ ok: false });
  });

  test("that breaks ends as failed and says so in words", async () => {
    const id = await aFit(manager);
    await executeFit(jobOf(manager, id), {
      ...NEVER_STOPPED,
      compute: () => Promise.reject(new Error("the disk is full")),
    });
    expect((await look(manager, id)).fit).toMatchObject({
      status: "failed",
      message: "The fit could not be made: the disk is full. Nothing was changed; start it again.",
    });
  });
});

describe("the lives that a fit reads", () => {
  test("are those of the whole record, each with what the model reads of it and no more", async () => {
    const { organizationId } = manager;
    const { whole, bare } = await withSql(manager, async (client) => {
      const lives: HeaterLife[] = [];
      const withoutEnd: string[] = [];
      for await (const page of readHistory(client, organizationId, 40)) {
        lives.push(...page.lives);
        withoutEnd.push(...page.withoutEnd);
      }
      return { whole: { lives, withoutEnd }, bare: await loadLives(client, organizationId) };
    });
    expect(bare.records.length).toBeGreaterThan(200);
    expect(bare.withoutEnd).toEqual(whole.withoutEnd);
    expect(bare.records.map(({ heater }) => heater.id)).toEqual(
      whole.lives.map(({ heater }) => heater.id),
    );
    bare.records.forEach((record, i) => {
      expect(whole.lives[i]).toMatchObject(record);
      // The same wear over time: nothing that the model reads is missing.
      expect(covariateHistory(record.heater)).toEqual(covariateHistory(whole.lives[i].heater));
    });
    expect(bare.records.some(({ heater }) => heater.care.flushDays.length > 0)).toBe(true);
    expect(bare.records.some(({ heater }) => heater.care.anodeInspection !== null)).toBe(true);
  });
});

describe("a record that says nothing, or too little", () => {
  test("heaters put on record today give a fit that fails and says why and what to do", async () => {
    const viewer = await anOrganization(database);
    await aSmallRecord(viewer, [
      { tag: "A", installed: "2015-01-01", recordedFrom: TODAY },
      { tag: "B", installed: "2016-01-01", recordedFrom: TODAY },
      { tag: "C", installed: "2016-01-01", recordedFrom: "2016-01-01", ended: "nobody knows" },
    ]);
    const id = await aFit(viewer);
    await executeFit(jobOf(viewer, id), IN_PLACE);

    const { fit } = await look(viewer, id);
    expect(fit.status).toBe("failed");
    expect(fit.message).toMatch(/None of the 3 heaters on record says how long heaters last/);
    expect(fit.message).toMatch(/on record for no time yet \(2\)/);
    expect(fit.message).toMatch(/nothing on record says when it ended \(1\)/);
    expect(fit.message).toMatch(/Bring in heaters that have been retired/);
    expect(await adoptModel(viewer, id, TODAY)).toMatchObject({ ok: false });
  });

  test("impossible lives are left out by name and the others are learnt from", async () => {
    const viewer = await anOrganization(database);
    const leak = (day: string) => ({ day, cause: "leak" });
    const since = "2012-01-01";
    const ids = await aSmallRecord(viewer, [
      { tag: "OK", installed: "2013-01-01", recordedFrom: since, ended: leak("2022-05-01") },
      { tag: "BACKWARDS", installed: "2020-01-01", recordedFrom: since, ended: leak("2019-01-01") },
      { tag: "UNSEEN", installed: "2001-01-01", recordedFrom: since, ended: leak("2010-01-01") },
      { tag: "ENDLESS", installed: "2013-01-01", recordedFrom: since, ended: "nobody knows" },
      { tag: "FUTURE", installed: "2028-01-01", recordedFrom: since },
      { tag: "ALIVE", installed: "2013-01-01", recordedFrom: since },
    ]);
    const id = await aFit(viewer);
    await executeFit(jobOf(viewer, id), IN_PLACE);

    const { fit } = await look(viewer, id);
    expect(fit.report?.counts).toMatchObject({ used: 2, failures: 1 });
    const named = new Map(fit.report?.leftOut.named.map(({ path, message }) => [path, message]));
    expect(named.get(ids.get("BACKWARDS") ?? "")).toMatch(/end is before its installation/);
    expect(named.get(ids.get("UNSEEN") ?? "")).toMatch(/before the day from which ends/);
    expect(named.get(ids.get("ENDLESS") ?? "")).toMatch(/nothing on record says when it ended/);
    expect(named.get(ids.get("FUTURE") ?? "")).toMatch(/still to come/);
    // One failure settles nothing, and the fit does not pretend otherwise.
    expect(fit.report?.learning.every(({ learnt }) => !learnt)).toBe(true);
  });

  test("a back-test on a few failures refuses to judge; one on a young record says why it cannot be", async () => {
    const viewer = await anOrganization(database);
    await aSmallRecord(viewer, [
      { tag: "OLD", installed: "2012-01-01", recordedFrom: "2013-01-01" },
      {
        tag: "GONE",
        installed: "2012-01-01",
        recordedFrom: "2013-01-01",
        ended: { day: "2024-05-01", cause: "no-heat" },
      },
    ]);
    const id = await aFit(viewer);
    await executeFit(jobOf(viewer, id), IN_PLACE);
    await executeBackTest(jobOf(viewer, id), TEST_IN_PLACE);
    const old = (await look(viewer, id)).fit;
    expect(old.verdict?.grade).toBe("too-few");
    expect(old.verdict?.sentences.join(" ")).toMatch(/too few to judge/);

    const young = await anOrganization(database);
    await aSmallRecord(young, [
      { tag: "NEW", installed: "2020-01-01", recordedFrom: "2026-06-01" },
    ]);
    const youngId = await aFit(young);
    await executeFit(jobOf(young, youngId), IN_PLACE);
    await executeBackTest(jobOf(young, youngId), TEST_IN_PLACE);
    const view = (await look(young, youngId)).fit;
    expect(view.backTestStatus).toBe("failed");
    expect(view.backTestMessage).toMatch(/since 2026-06-01 only: a back-test needs a year/);
    expect(await requestBackTest(young, youngId)).toMatchObject({ ok: true });
    expect(await requestBackTest(young, youngId)).toMatchObject({ ok: false });
  });
});

describe("taking a fit into use", () => {
  const risksOf = async ({ organizationId }: Viewer) => {
    const { rows } = await database.owner.query(
      `SELECT method, count(*)::int AS heaters, sum("failureProbability") AS failures,
         bool_and("failureLower" <= "failureUpper") AS ordered
       FROM "HeaterRisk" WHERE "organizationId" = $1 GROUP BY method`,
      [organizationId],
    );
    return rows;
  };
  const pass = ({ organizationId }: Viewer) =>
    runRiskJob({ organizationId, today: TODAY }, NEVER_STOPPED);

  test("scores the whole fleet anew, the ranking says which fit it used, and published lifetimes can be taken back", async () => {
    const viewer = await aDemo(60);
    await pass(viewer);
    const [published] = await risksOf(viewer);
    expect(published).toMatchObject({ method: PRIOR_MODEL.method, heaters: 60, ordered: true });
    const id = await aFit(viewer);
    await executeFit(jobOf(viewer, id), IN_PLACE);
    await database.owner.query("DELETE FROM pgboss.job WHERE name = 'risk'");

    expect(await adoptModel(viewer, id, TODAY)).toMatchObject({ ok: true });

    expect((await jobsOf("risk", viewer)).rows).toHaveLength(1);
    expect((await withSql(viewer, loadCurrentModel)).method).toBe("fit 1");
    expect(await withSql(viewer, readCurrentMethod)).toBe("fit 1");
    await pass(viewer);
    const [learnt] = await risksOf(viewer);
    expect(learnt).toMatchObject({ method: "fit 1", heaters: 60, ordered: true });
    expect(learnt.failures).not.toBeCloseTo(published.failures, 1);
    const page = await readRisk(viewer, riskQuerySchema.parse({}), TODAY);
    expect(page.ranking.every(({ method }) => method === "fit 1")).toBe(true);
    expect(page.inUse?.fit).toMatchObject({ number: 1, isAdopted: true });
    for (const { failureLower, failureProbability, failureUpper } of page.ranking) {
      expect(failureLower).toBeLessThanOrEqual(failureProbability);
      expect(failureUpper).toBeGreaterThanOrEqual(failureProbability);
    }
    expect(await adoptModel(viewer, id, TODAY)).toMatchObject({ ok: false });

    expect(await adoptModel(viewer, null, TODAY)).toMatchObject({ ok: true });
    expect((await withSql(viewer, loadCurrentModel)).method).toBe(PRIOR_MODEL.method);
    await pass(viewer);
    expect((await risksOf(viewer))[0]).toMatchObject({ method: PRIOR_MODEL.method });
    const { rows } = await database.owner.query(
      `SELECT before, after FROM "AuditEntry" WHERE "organizationId" = $1 AND action = 'risk.adopt'
       ORDER BY at`,
      [viewer.organizationId],
    );
    expect(rows).toEqual([
      { before: { method: PRIOR_MODEL.method }, after: { method: "fit 1" } },
      { before: { method: "fit 1" }, after: { method: PRIOR_MODEL.method } },
    ]);
  });

  test("a new fit is held against the one in use", async () => {
    const viewer = await aDemo(50);
    const first = await aFit(viewer);
    await executeFit(jobOf(viewer, first), IN_PLACE);
    await adoptModel(viewer, first, TODAY);
    const second = await aFit(viewer);
    await executeFit(jobOf(viewer, second), IN_PLACE);

    const { fit, learntBefore } = await look(viewer, second);
    expect(fit.report?.comparison).toMatchObject({
      against: "fit 1",
      heaters: 50,
      rankCorrelation: 1,
    });
    expect(learntBefore).toEqual((await look(viewer, first)).fit.report?.learning);
  });

  test("the demo's first start scores its heaters, asks for a fit and leaves it to a worker", async () => {
    await loadDemo(database.ownerUrl, () => undefined);
    const { rows } = await database.owner.query(
      `SELECT f.id, f.number, f.status, f."adoptsItself", f."organizationId",
         (SELECT count(*)::int FROM "HeaterRisk" r WHERE r."organizationId" = o.id) AS scored
       FROM "SurvivalFit" f JOIN "Organization" o ON o.id = f."organizationId"
       JOIN "Property" p ON p."organizationId" = o.id
       WHERE (SELECT count(*) FROM "Heater" h WHERE h."organizationId" = o.id) > 2000 LIMIT 1`,
    );
    expect(rows).toMatchObject([{ number: 1, status: "queued", adoptsItself: true, scored: 1200 }]);
    const [{ id, organizationId }] = rows;
    const queued = await database.owner.query(
      "SELECT data FROM pgboss.job WHERE name = 'fit' AND data ->> 'fitId' = $1",
      [id],
    );
    expect(queued.rows).toEqual([{ data: { organizationId, fitId: id } }]);
  });

  test("of its own accord is for the demo's first fit only, and is in the log without a person", async () => {
    const viewer = await aDemo(50);
    await learnFromDemo(viewer, TODAY);
    const [job] = (await jobsOf("fit", viewer)).rows;
    await executeFit(job.data, IN_PLACE);
    expect((await look(viewer, job.data.fitId)).fit).toMatchObject({
      isAdopted: true,
      adoptedBy: null,
    });
    expect((await jobsOf("risk", viewer)).rows.length).toBeGreaterThan(0);
  });
});

describe("another organisation", () => {
  test("sees no fit, cannot adopt one, and ranks by published lifetimes", async () => {
    expect((await readFits(stranger)).fits).toEqual([]);
    expect(await readFit(stranger, doneFit)).toBeNull();
    expect(await adoptModel(stranger, doneFit, TODAY)).toMatchObject({ ok: false });
    expect(await cancelFit(stranger, doneFit)).toMatchObject({ ok: false });
    expect(await requestBackTest(stranger, doneFit)).toMatchObject({ ok: false });
    expect(await withSql(stranger, loadCurrentModel)).toBe(PRIOR_MODEL);
  });

  test("cannot have a job run on another's fit", async () => {
    let computed: FitFound | null = null;
    await executeFit(jobOf(stranger, doneFit), {
      ...NEVER_STOPPED,
      compute: async (request) => {
        const found = await computeFit(request);
        if (found.ok) computed = found.value;
        return found;
      },
    });
    expect(computed).toBeNull();
  });
});
