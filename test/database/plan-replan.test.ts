import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { writeDemo } from "@/demo-seed/write";
import { EMPTY_RETIREMENT_FORM } from "@/lib/core/heaters/retirement-form";
import { DEFAULT_OPTIONS } from "@/lib/core/planning/options";
import { calendarDay } from "@/lib/core/shared/calendar-day";
import { findRun, listLines } from "@/lib/data/plans";
import { withSql } from "@/lib/data/tenant";
import { runPlanJob } from "@/lib/jobs/plan-job";
import { retireHeater } from "@/lib/services/heaters";
import { actOnLines, approvePlan, readLifePage, recheckPlan } from "@/lib/services/plan-life";
import {
  type PlanChangesView,
  readChangesCsv,
  readReplanPage,
  requestReplan,
} from "@/lib/services/plan-replan";
import { requestRun } from "@/lib/services/plan-requests";
import { openScenarioForm, saveScenario } from "@/lib/services/scenarios";
import type { Viewer } from "@/lib/services/viewer";
import { anOrganization, openTestDatabase, type TestDatabase } from "@/test/support/database";

const PLANNED = calendarDay("2026-11-25");
/** The plan is made anew a month later, still before its first period. */
const TODAY = calendarDay("2026-12-28");

let database: TestDatabase;
let manager: Viewer;
let stranger: Viewer;
let first: string;
let draft: string;
let rows: NonNullable<Awaited<ReturnType<typeof readLifePage>>>["rows"];
let scenarioId: string;
let free: string;
let dear: string;

/** A failure, a promise, a swap that is done and a budget that is cut, and two plans around them. */
beforeAll(async () => {
  database = await openTestDatabase();
  stranger = await anOrganization(database, { name: "Another organisation", role: "manager" });
  manager = {
    ...stranger,
    organizationId: await writeDemo(database.ownerUrl, {
      seed: 3,
      today: PLANNED,
      heaters: 60,
      people: false,
    }),
  };
  const form = await openScenarioForm(manager, null);
  if (!form) throw new Error("no form");
  const values = {
    ...form.values,
    name: "The plan",
    options: DEFAULT_OPTIONS.map(({ code }) => code),
  };
  const { id } = given(await saveScenario(manager, null, values, PLANNED));
  first = await computed(given(await requestRun(manager, id, PLANNED)).runId);
  draft = await computed(given(await requestRun(manager, id, PLANNED)).runId);
  given(await approvePlan(manager, first, 1));
  rows = (await readLifePage(manager, first))?.rows ?? [];

  const [promised, finished, failed] = rows;
  if (!promised || !finished || !failed) throw new Error("too few lines");
  const act = async (
    what: "commit" | "finish",
    { heaterId, version }: typeof promised,
    day = "",
    cost = "",
  ) =>
    given(
      await actOnLines(
        manager,
        first,
        { act: what, lines: [{ heaterId, version }], day, cost },
        TODAY,
      ),
    );
  await act("commit", promised);
  await act("finish", finished, "2026-12-20", "5100");
  const end = {
    ...EMPTY_RETIREMENT_FORM,
    cause: "leak",
    endFrom: "2026-12-22",
    emergency: "yes",
  };
  given(await retireHeater(manager, failed.heaterId, { version: 1, end, successor: null }, TODAY));

  // Of the first year's money two fifths are left of what its remaining lines would take.
  const remaining = rows.filter(
    (row) => row.budgetYear === "2027" && row !== finished && row !== failed,
  );
  const planned = remaining.reduce((sum, { plannedCents }) => sum + plannedCents, 0);
  const share = Number(values.contingencyPercent) / 100;
  const budget = String(Math.round((planned * 0.4) / (1 - share) / 100));
  const changed = given(
    await saveScenario(
      manager,
      { id, version: 1 },
      { ...values, yearBudgets: { ...values.yearBudgets, "2027": budget } },
      TODAY,
    ),
  );
  scenarioId = changed.id;
  free = await around("0");
  dear = await around("1000000");
}, 300_000);

afterAll(async () => {
  await database?.close();
});

function given<T>(
  outcome: { ok: true; value: T } | { ok: false; problems: readonly unknown[] },
): T {
  if (!outcome.ok) throw new Error(JSON.stringify(outcome.problems));
  return outcome.value;
}

async function computed(runId: string): Promise<string> {
  await runPlanJob(
    { organizationId: manager.organizationId, runId },
    { signal: new AbortController().signal },
  );
  const run = await withSql(manager, (client) => findRun(client, runId));
  if (run?.status !== "done") throw new Error(run?.message ?? "no run");
  return runId;
}

async function around(penalty: string): Promise<string> {
  const form = { scenarioId, penalty, reason: "A failure, and half the budget of 2027 is gone" };
  return computed(given(await requestReplan(manager, first, form, TODAY)).runId);
}

async function changesOf(runId: string): Promise<PlanChangesView> {
  const changes = (await readReplanPage(manager, runId))?.changes;
  if (!changes) throw new Error("no changes");
  return changes;
}

/** Lines of heaters that are still planned for. */
const moves = ({ totals }: PlanChangesView) => totals.changed - totals.byKind.gone;

describe("a plan around what happened", () => {
  test("keeps the promised line, also where every other is free to move", async () => {
    for (const runId of [free, dear]) {
      const lines = await withSql(manager, (client) => listLines(client, runId));
      expect(lines.find(({ heaterId }) => heaterId === rows[0]?.heaterId)).toMatchObject({
        optionCode: rows[0]?.optionCode,
        period: rows[0]?.period,
      });
      expect((await changesOf(runId)).committedKept).toBe(1);
    }
  });

  test("plans neither for what is done nor for what failed, and says so", async () => {
    const byTag = new Map((await changesOf(dear)).rows.map((row) => [row.tag, row]));

    expect(byTag.get(rows[1]?.tag ?? "")?.reasons).toEqual(["it was done on 2026-12-20"]);
    expect(byTag.get(rows[2]?.tag ?? "")?.reasons).toEqual([
      "it failed and was taken out of service on 2026-12-22",
    ]);
    expect((await changesOf(dear)).totals.byKind.gone).toBe(2);
  });

  test("a high penalty moves fewer lines than none, and no fewer than the budget asks", async () => {
    const [without, withPenalty] = [await changesOf(free), await changesOf(dear)];

    expect(moves(withPenalty)).toBeGreaterThan(0);
    expect(moves(withPenalty)).toBeLessThan(moves(without));
    expect(without.penaltiesCents).toBe(0);
    expect(withPenalty.penaltiesCents).toBe(moves(withPenalty) * 100_000_000);
  });

  test("a line that left the year names its lower budget", async () => {
    const reasons = (await changesOf(dear)).rows.flatMap((row) => row.reasons);

    expect(reasons.some((words) => words.startsWith("the budget of 2027 is lower: "))).toBe(true);
  });

  test("its cost is without the penalties and is found again from its stored inputs", async () => {
    expect(await recheckPlan(manager, dear)).toMatchObject({
      value: { isSame: true, violations: [] },
    });
  });

  test("can be read as CSV, a row a changed line", async () => {
    const csv = [...((await readChangesCsv(manager, dear))?.parts ?? [])].join("");

    expect(csv.trim().split("\n")).toHaveLength(1 + (await changesOf(dear)).totals.changed);
    expect(await readChangesCsv(manager, first)).toBeNull();
  });
});

describe("who may ask for it, and of what", () => {
  const aForm = () => ({ scenarioId, penalty: "150", reason: "A failure" });

  test("a reason and a penalty of zero or more are needed", async () => {
    const asked = await requestReplan(
      manager,
      first,
      { ...aForm(), penalty: "-5", reason: " " },
      TODAY,
    );

    expect(asked.ok ? [] : asked.problems.map(({ path }) => path)).toEqual(["reason", "penalty"]);
  });

  test("only the plan in force is planned anew around", async () => {
    expect((await requestReplan(manager, draft, aForm(), TODAY)).ok).toBe(false);
  });

  test("nobody without the right to plan, and no other organisation", async () => {
    await expect(
      requestReplan({ ...manager, role: "viewer" }, first, aForm(), TODAY),
    ).rejects.toThrow();
    expect((await requestReplan(stranger, first, aForm(), TODAY)).ok).toBe(false);
    expect(await readReplanPage(stranger, dear)).toBeNull();
    expect(await readChangesCsv(stranger, dear)).toBeNull();
  });
});
