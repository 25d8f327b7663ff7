import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { writeDemo } from "@/demo-seed/write";
import { DEFAULT_OPTIONS } from "@/lib/core/planning/options";
import { calendarDay } from "@/lib/core/shared/calendar-day";
import { findRun, listLines } from "@/lib/data/plans";
import { withSql } from "@/lib/data/tenant";
import { runPlanJob } from "@/lib/jobs/plan-job";
import {
  actOnLines,
  approvePlan,
  type LifePage,
  type LineActForm,
  readLifePage,
  readVarianceCsv,
  recheckPlan,
  withdrawPlan,
} from "@/lib/services/plan-life";
import { requestRun } from "@/lib/services/plan-requests";
import type { PlanSummary } from "@/lib/services/plan-summary";
import { openScenarioForm, saveScenario } from "@/lib/services/scenarios";
import type { Viewer } from "@/lib/services/viewer";
import { anOrganization, openTestDatabase, type TestDatabase } from "@/test/support/database";

const TODAY = calendarDay("2026-11-25");
const LATER = calendarDay("2027-03-01");

let database: TestDatabase;
let manager: Viewer;
let stranger: Viewer;
let scenarioId: string;
let first: string;

beforeAll(async () => {
  database = await openTestDatabase();
  stranger = await anOrganization(database, { name: "Another organisation" });
  manager = {
    ...stranger,
    role: "manager",
    organizationId: await writeDemo(database.ownerUrl, {
      seed: 3,
      today: TODAY,
      heaters: 50,
      people: false,
    }),
  };
  const form = await openScenarioForm(manager, null);
  if (!form) throw new Error("no form");
  const options = DEFAULT_OPTIONS.map(({ code }) => code);
  const saved = await saveScenario(
    manager,
    null,
    { ...form.values, name: "First plan", options },
    TODAY,
  );
  if (!saved.ok) throw new Error(JSON.stringify(saved.problems));
  scenarioId = saved.value.id;
  first = await aPlan();
});

afterAll(async () => {
  await database?.close();
});

async function aPlan(): Promise<string> {
  const requested = await requestRun(manager, scenarioId, TODAY);
  if (!requested.ok) throw new Error(JSON.stringify(requested.problems));
  const { runId } = requested.value;
  await runPlanJob(
    { organizationId: manager.organizationId, runId },
    { signal: new AbortController().signal },
  );
  const run = await withSql(manager, (client) => findRun(client, runId));
  if (run?.status !== "done") throw new Error(run?.message ?? "no run");
  return runId;
}

async function pageOf(runId: string): Promise<LifePage> {
  const page = await readLifePage(manager, runId);
  if (!page) throw new Error("no such plan");
  return page;
}

async function act(
  runId: string,
  form: Pick<LineActForm, "act" | "lines"> & Partial<LineActForm>,
  viewer = manager,
) {
  return actOnLines(viewer, runId, { day: "", cost: "", ...form }, LATER);
}

const keyOf = ({ heaterId, version }: { heaterId: string; version: number }) => ({
  heaterId,
  version,
});

describe("a draft", () => {
  test("gives the stored cost and fingerprint again from its stored inputs", async () => {
    const again = await recheckPlan(manager, first);
    const run = await withSql(manager, (client) => findRun(client, first));

    expect(again).toMatchObject({
      ok: true,
      value: { isSame: true, fingerprint: run?.fingerprint, violations: [] },
    });
  });

  test("stores its simulation, the plan's strategy among the five", async () => {
    const run = await withSql(manager, (client) => findRun(client, first));
    const summary = run?.summary as PlanSummary | undefined;

    expect(summary?.simulation).toBeTruthy();
  });

  test("has no line that could be acted on", async () => {
    const [line] = (await pageOf(first)).rows;
    if (!line) throw new Error("no line");

    expect((await act(first, { act: "commit", lines: [keyOf(line)] })).ok).toBe(false);
  });

  test("is nobody else's to see, approve or check", async () => {
    expect(await readLifePage(stranger, first)).toBeNull();
    expect(await readVarianceCsv(stranger, first)).toBeNull();
    expect((await approvePlan({ ...stranger, role: "manager" }, first, 1)).ok).toBe(false);
    expect((await recheckPlan(stranger, first)).ok).toBe(false);
  });
});

describe("the life of a plan", () => {
  test("approval needs the right to plan and the version that was seen", async () => {
    expect(() => approvePlan({ ...manager, role: "viewer" }, first, 1)).toThrow();
    expect((await approvePlan(manager, first, 2)).ok).toBe(false);
    expect((await pageOf(first)).approval.standing).toBe("draft");
  });

  test("runs from draft to done, binds the next run and is replaced by it", async () => {
    expect(await approvePlan(manager, first, 1)).toEqual({ ok: true, value: null });
    const { rows, approval } = await pageOf(first);
    expect(approval).toMatchObject({ standing: "in-force", version: 2 });
    const [promised, finished, dropped] = [rows[0], rows[1], rows[rows.length - 1]];
    if (!promised || !finished || !dropped) throw new Error("too few lines");

    // Promised, done two days before its period for $100 more than planned, given up.
    const start = (await withSql(manager, (client) => findRun(client, first)))?.terms.periods.find(
      ({ id }) => id === finished.period,
    )?.start;
    expect(start).toBe("2027-01-01");
    expect((await act(first, { act: "commit", lines: [keyOf(promised)] })).ok).toBe(true);
    const done = await act(first, {
      act: "finish",
      lines: [keyOf(finished)],
      day: "2026-12-30",
      cost: String(finished.plannedCents / 100 + 100),
    });
    expect(done).toEqual({ ok: true, value: { changed: 1 } });
    expect((await act(first, { act: "drop", lines: [keyOf(dropped)] })).ok).toBe(true);

    const page = await pageOf(first);
    expect(page.rows[1]?.variance).toEqual({ days: -2, cents: 10_000 });
    expect(page.total).toMatchObject({
      done: 1,
      committed: 1,
      dropped: 1,
      droppedCents: dropped.plannedCents,
      actualCents: finished.plannedCents + 10_000,
      plannedOfKnownCents: finished.plannedCents,
      early: 1,
    });
    const csv = [...((await readVarianceCsv(manager, first))?.parts ?? [])].join("");
    expect(csv).toContain(",100,2026-12-30,-2");

    // An old version is refused, and with it the whole act.
    const [, , untouched] = page.rows;
    if (!untouched) throw new Error("too few lines");
    const seen = [keyOf(untouched), keyOf(promised)];
    expect((await act(first, { act: "drop", lines: seen })).ok).toBe(false);
    expect((await pageOf(first)).rows[2]?.life).toBe("planned");

    // The next run keeps the promise, and carries it over when it is approved.
    const second = await aPlan();
    const lines = await withSql(manager, (client) => listLines(client, second));
    expect(lines.find(({ heaterId }) => heaterId === promised.heaterId)).toMatchObject({
      optionCode: promised.optionCode,
      period: promised.period,
    });
    expect((await approvePlan(manager, second, 1)).ok).toBe(true);
    expect((await pageOf(first)).approval.standing).toBe("withdrawn");
    const kept = (await pageOf(second)).rows.filter(({ life }) => life === "committed");
    expect(kept.map(({ heaterId }) => heaterId)).toEqual([promised.heaterId]);
    expect(await recheckPlan(manager, second)).toMatchObject({ value: { isSame: true } });

    expect((await withdrawPlan(manager, second, 2)).ok).toBe(true);
    expect((await withdrawPlan(manager, second, 3)).ok).toBe(false);
    const { rows: log } = await database.owner.query(
      `SELECT action FROM "AuditEntry" WHERE "organizationId" = $1 AND action LIKE 'plan.%'
         AND action <> 'plan.request'`,
      [manager.organizationId],
    );
    expect(new Set(log.map(({ action }) => action))).toEqual(
      new Set([
        "plan.approve",
        "plan.line.commit",
        "plan.line.finish",
        "plan.line.drop",
        "plan.withdraw",
      ]),
    );
  });

  test("a changed line or a changed input is found out", async () => {
    await database.owner.query(
      `UPDATE "PlanItem" SET "optionCode" = NULL, period = NULL, life = 'planned'
       WHERE id = (SELECT id FROM "PlanItem" WHERE "planRunId" = $1 AND life = 'planned'
         AND period IS NOT NULL LIMIT 1)`,
      [first],
    );

    expect(await recheckPlan(manager, first)).toMatchObject({ ok: true, value: { isSame: false } });
  });
});
