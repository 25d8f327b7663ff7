import { randomUUID } from "node:crypto";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { writeDemo } from "@/demo-seed/write";
import { addDays, calendarDay } from "@/lib/core/shared/calendar-day";
import { DEFAULT_CONSEQUENCES, estimateLoss } from "@/lib/core/survival/consequence";
import { PRIOR_MODEL } from "@/lib/core/survival/model";
import { forecastFailure } from "@/lib/core/survival/predict";
import { copyRows } from "@/lib/data/bulk";
import { loadFleet } from "@/lib/data/fleet";
import { openRiskStage } from "@/lib/data/risk";
import { type Tenant, withSql } from "@/lib/data/tenant";
import { runRiskJob } from "@/lib/jobs/risk-job";
import { rankingCsv, readRisk } from "@/lib/services/risk";
import {
  ensureFreshRisk,
  refreshHeaterRisk,
  requestRiskPass,
  runRiskPass,
} from "@/lib/services/risk-scoring";
import type { Viewer } from "@/lib/services/viewer";
import { anOrganization, openTestDatabase, type TestDatabase } from "@/test/support/database";

const today = calendarDay("2026-07-01");
const HEATERS = 120;

let database: TestDatabase;
/** Two organisations with portfolios of their own, and one that is empty. */
let first: Viewer;
let second: Viewer;
let empty: Viewer;

beforeAll(async () => {
  database = await openTestDatabase();
  empty = await anOrganization(database, { name: "Empty" });
  first = await withDemo(1);
  second = await withDemo(2);
});

afterAll(() => database.close());

async function withDemo(seed: number): Promise<Viewer> {
  const options = { seed, today, heaters: HEATERS, people: false };
  const organizationId = await writeDemo(database.ownerUrl, options);
  return { ...empty, organizationId };
}

type Stored = {
  readonly heaterId: string;
  readonly asOf: string;
  readonly failureProbability: number;
  readonly medianRemainingYears: number;
  readonly expectedLossCents: number;
  readonly ageYears: number;
};

async function risksOf({ organizationId }: Tenant): Promise<readonly Stored[]> {
  const { rows } = await database.owner.query<Stored>(
    `SELECT *, "asOf"::text AS "asOf" FROM "HeaterRisk" WHERE "organizationId" = $1
     ORDER BY "heaterId"`,
    [organizationId],
  );
  return rows;
}

async function countJobs({ organizationId }: Tenant): Promise<number> {
  const { rows } = await database.owner.query(
    `SELECT count(*)::int AS jobs FROM pgboss.job
     WHERE name = 'risk' AND data ->> 'organizationId' = $1`,
    [organizationId],
  );
  return rows[0].jobs;
}

describe("a pass over the fleet", () => {
  test("gives every heater in service the forecast of the model and the loss of its assumptions", async () => {
    expect(await runRiskPass(first, { today })).toEqual({ written: HEATERS });
    const { heaters } = await withSql(first, (client) => loadFleet(client));
    const risks = await risksOf(first);
    expect(risks.map(({ heaterId }) => heaterId)).toEqual(heaters.map(({ id }) => id).sort());
    for (const heater of heaters) {
      const risk = risks.find(({ heaterId }) => heaterId === heater.id);
      const forecast = forecastFailure(PRIOR_MODEL, heater, { today, horizonsYears: [1] });
      const [probability] = forecast.failureProbabilities;
      const loss = estimateLoss(heater, probability, DEFAULT_CONSEQUENCES);
      expect(risk).toMatchObject({
        asOf: today,
        method: PRIOR_MODEL.method,
        failureProbability: probability,
        medianRemainingYears: forecast.medianRemainingYears,
        expectedLossCents: loss.expected.totalCents,
        ageYears: forecast.ageYears,
      });
    }
  });

  test("leaves the rows of another organisation alone", async () => {
    expect(await risksOf(second)).toEqual([]);
    await runRiskPass(second, { today });
    const before = await risksOf(second);
    await runRiskPass(first, { today: addDays(today, 1) });
    expect(await risksOf(second)).toEqual(before);
    const { rows } = await database.owner.query(
      `SELECT count(*)::int AS foreign FROM "RiskYear" y JOIN "Property" p ON p.id = y."propertyId"
       WHERE p."organizationId" <> y."organizationId"`,
    );
    expect(rows[0].foreign).toBe(0);
  });

  test("takes the row of a heater away once it has retired", async () => {
    const [{ heaterId }] = await risksOf(first);
    await database.owner.query(`UPDATE "Heater" SET status = 'retired' WHERE id = $1`, [heaterId]);
    expect(await runRiskPass(first, { today })).toEqual({ written: HEATERS - 1 });
    expect((await risksOf(first)).some((risk) => risk.heaterId === heaterId)).toBe(false);
    await database.owner.query(`UPDATE "Heater" SET status = 'in-service' WHERE id = $1`, [
      heaterId,
    ]);
    await runRiskPass(first, { today });
  });

  test("does nothing half: stopped before its end it writes nothing", async () => {
    const before = await risksOf(first);
    const stopped = AbortSignal.abort(new Error("told to stop"));
    await expect(runRiskPass(first, { today: addDays(today, 5), signal: stopped })).rejects.toThrow(
      "told to stop",
    );
    expect(await risksOf(first)).toEqual(before);
  });

  test("leaves alone what an edit renewed after the pass began", async () => {
    const [old] = await risksOf(first);
    await database.owner.query(`UPDATE "Heater" SET "setpointF" = 160 WHERE id = $1`, [
      old.heaterId,
    ]);
    await withSql(first, async (client) => {
      const stage = await openRiskStage(client);
      // What the pass had read before the edit, ready to be written.
      const { rows } = await client.query('SELECT * FROM "HeaterRisk"');
      const columns = await client.query(
        `SELECT attname FROM pg_attribute WHERE attrelid = 'risk_stage'::regclass AND attnum > 0`,
      );
      const names = columns.rows.map(({ attname }) => attname as string);
      await copyRows(
        client,
        "risk_stage",
        names,
        rows.map((row) => names.map((name) => row[name])),
      );
      await withSql(first, (other) => refreshHeaterRisk(other, first, [old.heaterId], today));
      await stage.publish({
        organizationId: first.organizationId,
        asOf: today,
        method: PRIOR_MODEL.method,
      });
    });
    const now = (await risksOf(first)).find(({ heaterId }) => heaterId === old.heaterId);
    expect(now?.failureProbability).toBeGreaterThan(old.failureProbability);
  });

  test("comes to nothing and no error where there is no heater", async () => {
    expect(await runRiskPass(empty, { today })).toEqual({ written: 0 });
  });
});

describe("refreshing a few heaters", () => {
  test("scores those in service at once and takes away those that are not", async () => {
    await runRiskPass(first, { today });
    const [a, b] = await risksOf(first);
    await database.owner.query(`UPDATE "Heater" SET status = 'retired' WHERE id = $1`, [
      b.heaterId,
    ]);
    const day = addDays(today, 30);
    await withSql(first, (client) =>
      refreshHeaterRisk(client, first, [a.heaterId, b.heaterId], day),
    );
    const risks = await risksOf(first);
    expect(risks.find(({ heaterId }) => heaterId === a.heaterId)?.asOf).toBe(day);
    expect(risks.some(({ heaterId }) => heaterId === b.heaterId)).toBe(false);
    await database.owner.query(`UPDATE "Heater" SET status = 'in-service' WHERE id = $1`, [
      b.heaterId,
    ]);
  });

  test("does not reach a heater of another organisation", async () => {
    await runRiskPass(second, { today });
    const before = await risksOf(second);
    await withSql(first, (client) =>
      refreshHeaterRisk(client, first, [before[0].heaterId, randomUUID()], addDays(today, 9)),
    );
    expect(await risksOf(second)).toEqual(before);
    expect((await risksOf(first)).some(({ heaterId }) => heaterId === before[0].heaterId)).toBe(
      false,
    );
  });
});

describe("asking for a pass", () => {
  test("asks once, however many pages and edits ask, until it is taken up", async () => {
    const organization = await withDemo(3);
    await database.owner.query("DELETE FROM pgboss.job WHERE name = 'risk'");
    const asked = await Promise.all(
      Array.from({ length: 6 }, () =>
        withSql(organization, (client) => requestRiskPass(client, organization, today)),
      ),
    );
    expect(asked.filter(Boolean)).toHaveLength(1);
    expect(await countJobs(organization)).toBe(1);
  });

  test("a page asks when the ranking is not of today, and not when it is", async () => {
    const organization = await withDemo(4);
    const look = () =>
      withSql(organization, (client) => ensureFreshRisk(client, organization, today));
    expect(await look()).toMatchObject({ scored: 0, inService: HEATERS, isComing: true });
    expect(await countJobs(organization)).toBe(1);
    await runRiskPass(organization, { today });
    await database.owner.query("DELETE FROM pgboss.job WHERE name = 'risk'");
    expect(await look()).toMatchObject({ scored: HEATERS, asOf: today, isComing: false });
    expect(await countJobs(organization)).toBe(0);
    const later = await withSql(organization, (client) =>
      ensureFreshRisk(client, organization, addDays(today, 1)),
    );
    expect(later).toMatchObject({ asOf: today, isComing: true });
    expect(await countJobs(organization)).toBe(1);
  });

  test("an organisation without heaters is never stale", async () => {
    expect(await withSql(empty, (client) => ensureFreshRisk(client, empty, today))).toEqual({
      asOf: null,
      inService: 0,
      scored: 0,
      isComing: false,
    });
  });

  test("the job scores the organisation that it names, and refuses what it cannot read", async () => {
    const organization = await withDemo(5);
    const context = { signal: new AbortController().signal };
    const { organizationId } = organization;
    await runRiskJob({ organizationId, today }, context);
    expect(await risksOf(organization)).toHaveLength(HEATERS);
    await expect(runRiskJob({ organizationId, today: "soon" }, context)).rejects.toThrow();
    await expect(runRiskJob({}, context)).rejects.toThrow();
  });
});

describe("the risk page", () => {
  const query = { order: "chance", property: null, page: 1 } as const;

  test("ranks by chance or by loss, page after page, without a gap", async () => {
    await runRiskPass(first, { today });
    const risks = await risksOf(first);
    const seen: string[] = [];
    for (const page of [1, 2, 3]) {
      const view = await readRisk(first, { ...query, page }, today);
      expect(view.total).toBe(HEATERS);
      expect(view.ranking[0].rank).toBe(seen.length + 1);
      seen.push(...view.ranking.map(({ heaterId }) => heaterId));
    }
    expect(new Set(seen).size).toBe(HEATERS);
    const byChance = [...risks].sort((a, b) => b.failureProbability - a.failureProbability);
    expect(seen[0]).toBe(byChance[0].heaterId);
    const byLoss = await readRisk(first, { ...query, order: "loss" }, today);
    const losses = byLoss.ranking.map(({ expectedLossCents }) => expectedLossCents);
    expect(losses).toEqual([...losses].sort((a, b) => b - a));
    expect(losses[0]).toBe(Math.max(...risks.map(({ expectedLossCents }) => expectedLossCents)));
  });

  test("gives each heater a reason with a number and sums up the same fleet in every grouping", async () => {
    const { ranking, groups, total } = await readRisk(first, query, today);
    for (const { reason } of ranking) expect(reason).toMatch(/\d+\.\d %/);
    const sum = (counts: readonly number[]) => counts.reduce((all, count) => all + count, 0);
    expect(sum(groups.byTechnology.map(({ heaters }) => heaters))).toBe(total);
    expect(sum(groups.byProperty.map(({ heaters }) => heaters))).toBe(total);
    expect(sum(groups.byChance)).toBe(total);
    expect(sum(groups.byInstallEvidence.map(({ heaters }) => heaters))).toBe(total);
  });

  test("shows one property when asked, and its years", async () => {
    const all = await readRisk(first, query, today);
    const [{ key, heaters }] = all.groups.byProperty;
    const one = await readRisk(first, { ...query, property: key }, today);
    expect(one.total).toBe(heaters);
    expect(one.ranking.every(({ propertyId }) => propertyId === key)).toBe(true);
    expect(one.ahead[0].expected).toBeLessThan(all.ahead[0].expected);
  });

  test("holds the failures on record, and no other retirement, against the model", async () => {
    const { comparison } = await readRisk(first, query, today);
    const { rows } = await database.owner.query(
      `SELECT count(*)::int AS failures FROM "Retirement" r JOIN "Heater" h ON h.id = r."heaterId"
       WHERE r."organizationId" = $1 AND r.cause IN ('leak', 'no-heat')
         AND r.earliest + (r.latest - r.earliest) / 2 >= h."recordedFrom"`,
      [first.organizationId],
    );
    expect(comparison.total?.happened).toBe(rows[0].failures);
  });

  test("says nothing of another organisation's property", async () => {
    const other = await readRisk(second, query, today);
    const [{ key }] = other.groups.byProperty;
    expect((await readRisk(first, { ...query, property: key }, today)).ranking).toEqual([]);
  });

  test("writes the whole ranking as a file that no spreadsheet program runs", async () => {
    await database.owner.query(
      `UPDATE "Heater" SET tag = '=1+1' WHERE id = (SELECT "heaterId" FROM "HeaterRisk"
         WHERE "organizationId" = $1 ORDER BY "failureProbability" DESC LIMIT 1)`,
      [first.organizationId],
    );
    let text = "";
    for await (const part of rankingCsv(first, query, today)) text += part;
    const lines = text.trimEnd().split("\r\n");
    expect(lines).toHaveLength(HEATERS + 1);
    expect(lines[1]).toMatch(/^1,'=1\+1,/);
  });
});
