import { randomUUID } from "node:crypto";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { writeDemo } from "@/demo-seed/write";
import { DEFAULT_OPTIONS } from "@/lib/core/planning/options";
import { calendarDay } from "@/lib/core/shared/calendar-day";
import { claimRun, findRun, listLines, listUpgrades } from "@/lib/data/plans";
import { findScenario } from "@/lib/data/scenarios";
import { withSql } from "@/lib/data/tenant";
import { runPlanJob, solveInThread } from "@/lib/jobs/plan-job";
import { readPlanLines, readPlanPage, readScheduleCsv } from "@/lib/services/plan-pages";
import { cancelRun, readRunProgress, requestRun } from "@/lib/services/plan-requests";
import { executePlanRun, type SolveAside } from "@/lib/services/plan-run";
import type { PlanSummary } from "@/lib/services/plan-summary";
import type { ScenarioFormValues } from "@/lib/services/scenario-form";
import { openScenarioForm, readScenarioBoard, saveScenario } from "@/lib/services/scenarios";
import { readPlant, savePlant } from "@/lib/services/sites-plant";
import { formOfPlant } from "@/lib/services/sites-plant-form";
import type { Viewer } from "@/lib/services/viewer";
import { anOrganization, openTestDatabase, type TestDatabase } from "@/test/support/database";

const TODAY = calendarDay("2026-11-25");
/** Like-for-like tanks too, so that every heater can be replaced somehow. */
const ALL_OPTIONS = DEFAULT_OPTIONS.map(({ code }) => code);
const NEVER_STOPPED = { signal: new AbortController().signal };

let database: TestDatabase;
let manager: Viewer;
let stranger: Viewer;
/** A run of the starting form that ended in a plan; tests that only look share it. */
let doneRun: string;

beforeAll(async () => {
  database = await openTestDatabase();
  const options = { seed: 3, today: TODAY, heaters: 50, people: false };
  stranger = await anOrganization(database, { name: "Another organisation" });
  manager = {
    ...stranger,
    role: "manager",
    organizationId: await writeDemo(database.ownerUrl, options),
  };
  doneRun = await aRun();
  await runPlanJob(jobOf(doneRun), NEVER_STOPPED);
});

afterAll(async () => {
  await database?.close();
});

/** A stored scenario of the manager's; `changes` are what was typed over the starting form. */
async function aScenario(changes: Partial<ScenarioFormValues> = {}): Promise<string> {
  const form = await openScenarioForm(manager, null);
  if (!form) throw new Error("no form");
  const values = { ...form.values, name: "First plan", options: ALL_OPTIONS, ...changes };
  const saved = await saveScenario(manager, null, values, TODAY);
  if (!saved.ok) throw new Error(JSON.stringify(saved.problems));
  return saved.value.id;
}

async function aRun(changes: Partial<ScenarioFormValues> = {}): Promise<string> {
  const requested = await requestRun(manager, await aScenario(changes), TODAY);
  if (!requested.ok) throw new Error(JSON.stringify(requested.problems));
  return requested.value.runId;
}

const jobOf = (runId: string) => ({ organizationId: manager.organizationId, runId });
const progressOf = (runId: string) => readRunProgress(manager, runId);

async function stored(runId: string) {
  return withSql(manager, async (client) => ({
    run: await findRun(client, runId),
    lines: await listLines(client, runId),
    upgrades: await listUpgrades(client, runId),
  }));
}

describe("a requested run", () => {
  test("waits in the queue with its job, written together", async () => {
    const runId = await aRun();

    expect(await progressOf(runId)).toMatchObject({ status: "queued" });
    const { rows } = await database.owner.query(
      "SELECT data FROM pgboss.job WHERE name = 'plan' AND data ->> 'runId' = $1",
      [runId],
    );
    expect(rows).toEqual([{ data: jobOf(runId) }]);
  });

  test("becomes a stored plan with a proven gap, a line for every heater and its ledger", async () => {
    const { run, lines, upgrades } = await stored(doneRun);
    expect(run).toMatchObject({ status: "done", progress: 1, message: null });
    expect(run?.gap).toBeLessThanOrEqual(0.001);
    expect(run?.lowerBoundCents).toBeLessThanOrEqual(run?.objectiveCents ?? 0);
    expect(run?.fingerprint).toMatch(/^[0-9a-f]{64}$/);
    expect(lines).toHaveLength(50);

    const summary = run?.summary as PlanSummary;
    const sumOf = (values: readonly number[]) => values.reduce((a, b) => a + b, 0);
    expect(sumOf(summary.ledger.map(({ swapCents }) => swapCents))).toBe(
      sumOf(lines.map(({ capitalCents }) => capitalCents)),
    );
    expect(sumOf(summary.ledger.map(({ upgradeCents }) => upgradeCents))).toBe(
      sumOf(upgrades.map(({ costCents }) => costCents)),
    );
    expect(summary.outcomes.map(({ strategy }) => strategy)).toEqual([
      "run-to-failure",
      "replace-at-age",
      "oldest-first",
      "riskiest-first",
      "plan",
    ]);
    // The plan is the best of all ways that keep the rules.
    for (const outcome of summary.outcomes.filter(({ brokenRules }) => brokenRules === 0)) {
      expect(run?.objectiveCents).toBeLessThanOrEqual(outcome.objectiveCents + 1);
    }
  });

  test("keeps the budget of every year and the crew hours of every period", async () => {
    const runId = await aRun({ budget: "20000", crewHoursPerMonth: "12" });

    await runPlanJob(jobOf(runId), NEVER_STOPPED);

    const { run, lines, upgrades } = await stored(runId);
    if (!run) throw new Error("no run");
    const yearOf = new Map(run.terms.periods.map(({ id, budgetYear }) => [id, budgetYear]));
    const spent = new Map<string, number>();
    const hours = new Map<string, number>();
    const add = (to: Map<string, number>, key: string, amount: number) =>
      to.set(key, (to.get(key) ?? 0) + amount);
    for (const { period, capitalCents, hours: needed } of lines) {
      if (period === null) continue;
      add(spent, yearOf.get(period) ?? "", capitalCents);
      add(hours, period, needed);
    }
    for (const { period, costCents } of upgrades) add(spent, yearOf.get(period) ?? "", costCents);
    expect(spent.size).toBeGreaterThan(3);
    for (const [year, cents] of spent) {
      expect(cents, year).toBeLessThanOrEqual((run.terms.budgets[year]?.cents ?? 0) * 0.9);
    }
    for (const [period, used] of hours) {
      expect(used, period).toBeLessThanOrEqual(run.terms.crewHours[period] ?? 0);
    }
  });

  test("stores each line's cost in parts that add up to it", async () => {
    const { run, lines } = await stored(doneRun);
    const sumOf = (values: readonly number[]) => values.reduce((a, b) => a + b, 0);
    const planned = lines.filter(({ optionCode }) => optionCode !== null);
    expect(planned.length).toBeGreaterThan(0);
    for (const { tag, capitalCents, parts } of planned) {
      expect(sumOf(Object.values(parts.swap)) - parts.incentiveCents, tag).toBe(capitalCents);
    }
    // The objective is the lines' parts, the discounted upgrades and the discounted visits.
    const summary = run?.summary as PlanSummary;
    const lineCents = sumOf(lines.map(({ parts }) => sumOf(Object.values(parts.price))));
    const other = (run?.objectiveCents ?? 0) - lineCents;
    const undiscounted = sumOf(
      summary.ledger.map(({ upgradeCents, mobilisationCents }) => upgradeCents + mobilisationCents),
    );
    expect(other).toBeGreaterThanOrEqual(0);
    expect(other).toBeLessThanOrEqual(undiscounted + 1);
  });

  test("of the same inputs gives the same fingerprint and the same plan; other inputs another", async () => {
    const again = await aRun();
    await runPlanJob(jobOf(again), NEVER_STOPPED);
    const other = await aRun({ realDiscountPercent: "4" });
    await runPlanJob(jobOf(other), NEVER_STOPPED);

    const [first, second, third] = await Promise.all([doneRun, again, other].map(stored));
    expect(second?.run?.fingerprint).toBe(first?.run?.fingerprint);
    expect(second?.run?.objectiveCents).toBe(first?.run?.objectiveCents);
    expect(
      second?.lines.map(({ heaterId, optionCode, period }) => [heaterId, optionCode, period]),
    ).toEqual(
      first?.lines.map(({ heaterId, optionCode, period }) => [heaterId, optionCode, period]),
    );
    expect(third?.run?.fingerprint).not.toBe(first?.run?.fingerprint);
  });
});

describe("a job that is tried again", () => {
  test("after its worker died half-way stores one plan", async () => {
    const runId = await aRun();
    await withSql(manager, (client) => claimRun(client, runId));
    expect(await progressOf(runId)).toMatchObject({ status: "running" });

    await runPlanJob(jobOf(runId), NEVER_STOPPED);
    const once = await stored(runId);
    await runPlanJob(jobOf(runId), NEVER_STOPPED);
    const twice = await stored(runId);

    expect(once.run?.status).toBe("done");
    expect(twice.lines).toEqual(once.lines);
    expect(twice.run?.finishedAt).toEqual(once.run?.finishedAt);
  });

  test("while the first try still runs, only one of the two stores its plan", async () => {
    const runId = await aRun();

    await Promise.all([
      runPlanJob(jobOf(runId), NEVER_STOPPED),
      runPlanJob(jobOf(runId), NEVER_STOPPED),
    ]);

    const { run, lines } = await stored(runId);
    expect(run?.status).toBe("done");
    expect(lines).toHaveLength(50);
  });

  test("because the worker was stopped goes back into the queue and keeps its run", async () => {
    const runId = await aRun();
    const stopping = new AbortController();
    const solve: SolveAside = (request, options) => {
      stopping.abort();
      return solveInThread(request, options);
    };

    await expect(executePlanRun(jobOf(runId), { signal: stopping.signal, solve })).rejects.toThrow(
      /worker is stopping/,
    );

    expect(await progressOf(runId)).toMatchObject({ status: "queued" });
    expect((await stored(runId)).lines).toEqual([]);
  });
});

describe("a building that converts its single heaters to a central plant", () => {
  test("gets the plant for all of them in one period, each bearing its share", async () => {
    const { rows } = await database.owner.query<{ id: string; heaters: number }>(
      `SELECT b.id, count(*)::int AS heaters FROM "Building" b JOIN "Heater" h ON h."buildingId" = b.id
       WHERE b."organizationId" = $1 AND h.status = 'in-service' AND h."unitId" IS NOT NULL
       GROUP BY b.id HAVING count(*) BETWEEN 2 AND 12 AND bool_and(h.fuel = 'natural-gas')
       ORDER BY count(*) DESC, b.id LIMIT 1`,
      [manager.organizationId],
    );
    const [building] = rows;
    if (!building) throw new Error("no building of a few single heaters");
    const form = formOfPlant((await readPlant(manager, building.id)).plant);
    await savePlant(manager, building.id, { ...form, scope: "building" });
    // A price of carbon at which nothing that burns is left, and the means for all of it.
    const run = await aRun({
      carbonDollarsPerTonne: "9000",
      budget: "2000000",
      crewHoursPerMonth: "1000",
    });
    await runPlanJob(jobOf(run), NEVER_STOPPED);
    await savePlant(manager, building.id, { ...form, scope: "none" });

    const { run: done } = await stored(run);
    expect(done).toMatchObject({ status: "done", message: null });
    const lines = await withSql(manager, (client) =>
      listLines(client, run, { buildingId: building.id }),
    );
    expect(lines).toHaveLength(building.heaters);
    expect(new Set(lines.map(({ period }) => period)).size).toBe(1);
    expect(new Set(lines.map(({ optionCode }) => optionCode))).toEqual(new Set(["hp-central"]));
    for (const { parts } of lines) expect(JSON.stringify(parts)).toContain("plantRoom");
  });
});

describe("a run that ends without a plan", () => {
  test("with a budget too small for what must be done says which limits conflict", async () => {
    const runId = await aRun({ budget: "10000", latestAgeYears: "8" });

    await runPlanJob(jobOf(runId), NEVER_STOPPED);

    const progress = await progressOf(runId);
    expect(progress?.status).toBe("infeasible");
    expect(progress?.message).toMatch(/the budget of 2027 \(\$9,000\)/);
    expect(progress?.message).not.toMatch(/[0-9a-f]{8}-[0-9a-f]{4}/);
  });

  test("with an age limit where nothing chosen is possible names the heaters and why", async () => {
    const runId = await aRun({ latestAgeYears: "8", options: ["hp240-50"] });

    await runPlanJob(jobOf(runId), NEVER_STOPPED);

    const progress = await progressOf(runId);
    expect(progress?.status).toBe("infeasible");
    expect(progress?.message).toMatch(/heaters? must be replaced by the age limit, .*: WH-/);
    expect(progress?.message).toMatch(/not possible here: .*clearance and height/);
  });

  test("cancelled while it waits is not computed", async () => {
    const runId = await aRun();

    expect(await cancelRun(manager, runId)).toEqual({ ok: true, value: null });
    await runPlanJob(jobOf(runId), NEVER_STOPPED);

    expect(await progressOf(runId)).toMatchObject({ status: "cancelled" });
    expect((await stored(runId)).lines).toEqual([]);
    expect((await cancelRun(manager, runId)).ok).toBe(false);
  });

  test("cancelled while it is solved ends the solver within seconds and stores nothing", async () => {
    const runId = await aRun();
    const endless: SolveAside = (_request, { signal }) =>
      new Promise((_resolve, reject) => {
        signal.addEventListener("abort", () => reject(signal.reason));
        void cancelRun(manager, runId);
      });

    await executePlanRun(jobOf(runId), { ...NEVER_STOPPED, solve: endless });

    expect(await progressOf(runId)).toMatchObject({ status: "cancelled" });
    expect((await stored(runId)).lines).toEqual([]);
  });

  test("because the solver failed says so in words", async () => {
    const runId = await aRun();
    const failing: SolveAside = () => Promise.reject(new Error("no memory was left"));

    await executePlanRun(jobOf(runId), { ...NEVER_STOPPED, solve: failing });

    expect(await progressOf(runId)).toMatchObject({
      status: "failed",
      message: "The plan could not be computed: no memory was left.",
    });
  });

  test("because the solver's plan breaks a rule is not stored", async () => {
    const runId = await aRun();
    const cheating: SolveAside = async (request, options) => {
      const solution = await solveInThread(request, options);
      return { ...solution, assignments: solution.assignments.slice(1) };
    };

    await executePlanRun(jobOf(runId), { ...NEVER_STOPPED, solve: cheating });

    const progress = await progressOf(runId);
    expect(progress?.status).toBe("failed");
    expect(progress?.message).toMatch(/breaks a rule and was not stored: Heater .* has no line/);
    expect((await stored(runId)).lines).toEqual([]);
  });

  test("because the solver misstates its cost is not stored", async () => {
    const runId = await aRun();
    const boasting: SolveAside = async (request, options) => {
      const solution = await solveInThread(request, options);
      return { ...solution, objectiveCents: (solution.objectiveCents ?? 0) * 0.99 };
    };

    await executePlanRun(jobOf(runId), { ...NEVER_STOPPED, solve: boasting });

    expect((await progressOf(runId))?.message).toMatch(/independent costing differ/);
  });
});

describe("who sees and asks for runs", () => {
  test("another organisation sees neither scenarios nor runs nor lines", async () => {
    expect(await readPlanPage(stranger, doneRun)).toBeNull();
    expect(await readRunProgress(stranger, doneRun)).toBeNull();
    expect(await readPlanLines(stranger, doneRun, { left: true })).toBeNull();
    expect(await readScheduleCsv(stranger, doneRun)).toBeNull();
    expect((await readScenarioBoard(stranger)).scenarios).toEqual([]);
    expect((await cancelRun(stranger, doneRun)).ok).toBe(false);
    expect((await stored(doneRun)).run?.status).toBe("done");
  });

  test("another organisation's job does not reach a run", async () => {
    const runId = await aRun();

    await runPlanJob({ organizationId: stranger.organizationId, runId }, NEVER_STOPPED);

    expect(await progressOf(runId)).toMatchObject({ status: "queued" });
  });

  test("a viewer may look and may not ask for a plan", async () => {
    const scenarioId = await aScenario();
    const looker: Viewer = { ...manager, role: "viewer" };

    expect((await readScenarioBoard(looker)).mayEdit).toBe(false);
    expect(() => requestRun(looker, scenarioId, TODAY)).toThrow(/not-allowed/);
    expect(() => cancelRun(looker, randomUUID())).toThrow(/not-allowed/);
  });

  test("a scenario whose first period has begun is refused with what to do", async () => {
    const refused = await requestRun(manager, await aScenario(), calendarDay("2027-02-01"));

    expect(refused.ok).toBe(false);
    if (!refused.ok) expect(refused.problems[0]?.message).toMatch(/2027-01-01, which has passed/);
  });

  test("an organisation without heaters is told to bring them in", async () => {
    const empty = await anOrganization(database, { name: "No heaters yet" });
    const form = await openScenarioForm(empty, null);
    if (!form) throw new Error("no form");
    const saved = await saveScenario(empty, null, form.values, TODAY);
    if (!saved.ok) throw new Error(JSON.stringify(saved.problems));

    const refused = await requestRun(empty, saved.value.id, TODAY);

    expect(refused.ok ? "" : refused.problems[0]?.message).toMatch(/Bring in your heaters/);
  });
});

describe("the schedule as a file", () => {
  test("has one line a heater and says which stay", async () => {
    const csv = await readScheduleCsv(manager, doneRun);
    const lines = [...(csv?.parts ?? [])].join("").trim().split("\r\n");

    expect(csv?.fileName).toBe("schedule-first-plan.csv");
    expect(lines).toHaveLength(51);
    expect(lines[0]).toMatch(/^\uFEFF?Budget year,Period,/);
    const { lines: planned } = await stored(doneRun);
    const stays = planned.filter(({ optionCode }) => optionCode === null).length;
    expect(lines.filter((line) => line.includes("Not within the horizon"))).toHaveLength(stays);
  });
});

describe("a scenario that is edited", () => {
  test("before its first run is changed in place, once for each version read", async () => {
    const id = await aScenario();
    const form = await openScenarioForm(manager, id);
    if (!form?.scenario) throw new Error("no form");
    const changed = { ...form.values, budget: "30000" };

    expect(await saveScenario(manager, form.scenario, changed, TODAY)).toEqual({
      ok: true,
      value: { id, isCopy: false },
    });
    const late = await saveScenario(manager, form.scenario, changed, TODAY);
    expect(late.ok ? "" : late.problems[0]?.message).toMatch(/Somebody else changed/);
    const after = await withSql(manager, (client) => findScenario(client, id));
    expect(after?.terms.budgets["2028"]?.cents).toBe(3_000_000);
  });

  test("after a run is copied, and the run keeps its own terms", async () => {
    const id = await aScenario();
    const requested = await requestRun(manager, id, TODAY);
    const form = await openScenarioForm(manager, id);
    if (!requested.ok || !form?.scenario) throw new Error("no run");

    const saved = await saveScenario(
      manager,
      form.scenario,
      { ...form.values, budget: "40000" },
      TODAY,
    );

    expect(saved.ok && saved.value.isCopy).toBe(true);
    const original = await withSql(manager, (client) => findScenario(client, id));
    const copy = await withSql(manager, (client) =>
      findScenario(client, saved.ok ? saved.value.id : ""),
    );
    expect(original?.terms.budgets["2028"]?.cents).toBe(3_000_000);
    expect(copy?.name).toBe("First plan, changed");
    expect(copy?.terms.budgets["2028"]?.cents).toBe(4_000_000);
  });
});
