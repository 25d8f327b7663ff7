import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { writeDemo } from "@/demo-seed/write";
import type { AccountSummary } from "@/lib/core/emissions/account-summary";
import { calendarDay } from "@/lib/core/shared/calendar-day";
import { findEmissionsRun } from "@/lib/data/emissions-runs";
import { withSql } from "@/lib/data/tenant";
import { readEmissions, requestAccount } from "@/lib/services/emissions";
import { readHomeSheet, readHomes } from "@/lib/services/emissions-homes";
import { readRetirements, recordDisposal } from "@/lib/services/emissions-ledger";
import { addPolicy, readPolicies } from "@/lib/services/emissions-policies";
import {
  addContract,
  addFactor,
  adoptBaseYear,
  readContracts,
  readFactors,
  readTerms,
  removeContract,
  saveTerms,
  withdrawFactor,
} from "@/lib/services/emissions-records";
import { executeEmissionsRun } from "@/lib/services/emissions-run";
import {
  addReading,
  readEnergyProperties,
  readEnergyProperty,
  removeReading,
  savePropertyEnergy,
} from "@/lib/services/energy";
import type { Viewer } from "@/lib/services/viewer";
import { anOrganization, openTestDatabase, type TestDatabase } from "@/test/support/database";

const TODAY = calendarDay("2026-11-20");

let database: TestDatabase;
let viewer: Viewer;
let stranger: Viewer;
let propertyId: string;

beforeAll(async () => {
  database = await openTestDatabase();
  const organizationId = await writeDemo(database.ownerUrl, {
    seed: 3,
    today: TODAY,
    heaters: 80,
    people: false,
    emissions: false,
  });
  stranger = await anOrganization(database, { name: "Another organisation" });
  viewer = { ...(await anOrganization(database, { role: "sustainability" })), organizationId };
  const gas = await database.owner.query(
    `SELECT b."propertyId" FROM "Heater" h JOIN "Building" b ON b.id = h."buildingId"
     WHERE h.status = 'in-service' AND h.fuel = 'natural-gas' GROUP BY 1 ORDER BY count(*) DESC LIMIT 1`,
  );
  propertyId = gas.rows[0].propertyId;
});

afterAll(() => database.close());

async function accountOf(year: number): Promise<AccountSummary> {
  const asked = await requestAccount(viewer, { year, plan: null }, TODAY);
  if (!asked.ok) throw new Error("not asked");
  const { runId } = asked.value;
  await executeEmissionsRun(
    { organizationId: viewer.organizationId, runId },
    { signal: new AbortController().signal },
  );
  const run = await withSql(viewer, (client) => findEmissionsRun(client, runId));
  expect(run?.message).toBeNull();
  return run?.summary as AccountSummary;
}

const CONTRACT = {
  kind: "certificate",
  name: "certificates 2025",
  propertyId: "",
  coversKwh: "1000",
  coversPercent: "",
  kgCo2ePerKwh: "0",
  vintage: "2025",
  market: "US",
  conveysRate: "yes",
  soleClaim: "yes",
  retired: "yes",
  firstYear: "2025",
  lastYear: "2025",
  source: "registry statement",
};

const ENERGY = {
  fuelMeter: "owner",
  electricityMeter: "owner",
  otherGasAppliances: "yes",
  heatingFuel: "",
  heatingEfficiency: "",
  coolingEfficiency: "",
  heldFrom: "",
  heldTo: "",
  occupied: "2024: 90",
  usesCalibration: "no",
  floorAreaSqFt: "",
  fuelTariff: "",
  fuelTariffSource: "",
  electricityTariff: "other use 200: 300 at 12, above at 16",
  electricityTariffSource: "tariff sheet",
};

const reading = (changes: Readonly<Record<string, string>> = {}) => ({
  propertyId,
  buildingId: "",
  fuel: "natural-gas",
  from: "2025-01-01",
  to: "2025-12-31",
  amount: "1000",
  unit: "ccf",
  otherAmount: "100",
  source: "bill 17",
  ...changes,
});

describe("what is on record about a property's energy", () => {
  test("decides the scope, and an edit of an older state is refused", async () => {
    expect((await savePropertyEnergy(viewer, propertyId, { ...ENERGY, version: "0" })).ok).toBe(
      true,
    );
    const { energy, version } = await readEnergyProperty(viewer, propertyId);
    expect(energy.meters).toEqual({ fuel: "owner", electricity: "owner" });
    expect(energy.occupiedShare).toEqual({ "2024": 0.9 });
    expect(energy.tariffs.electricity?.tariff.kind).toBe("tiered");
    const late = await savePropertyEnergy(viewer, propertyId, { ...ENERGY, version: "0" });
    expect(late).toMatchObject({ ok: false });
    expect((await readEnergyProperty(viewer, propertyId)).version).toBe(version);
    expect((await accountOf(2025)).kgCo2e.scope1).toBeGreaterThan(0);
  });

  test("is not to be seen or changed by another organisation", async () => {
    await expect(readEnergyProperty(stranger, propertyId)).rejects.toThrow(/not-found/);
    expect((await savePropertyEnergy(stranger, propertyId, { ...ENERGY, version: "0" })).ok).toBe(
      false,
    );
    expect(await readEnergyProperties(stranger)).toEqual([]);
  });
});

describe("readings", () => {
  test("go into the account as metered, other uses taken off, and never twice", async () => {
    expect((await addReading(viewer, reading())).ok).toBe(true);
    const twice = await addReading(viewer, reading({ from: "2025-06-01", to: "2025-06-30" }));
    expect(twice).toMatchObject({ ok: false, problems: [{ path: "from" }] });
    const { lines } = await accountOf(2025);
    const metered = lines.find(({ basis, gas }) => basis === "metered" && gas === "co2");
    // 900 hundred cubic feet at 1.026 therms (40 CFR 98 table C-1, as quoted) are 92.34 mmBtu.
    expect(metered?.amount).toBeCloseTo(92.34, 6);
    const [kept] = (await readEnergyProperty(viewer, propertyId)).readings;
    expect((await removeReading(stranger, kept?.id ?? "")).ok).toBe(false);
    expect((await removeReading(viewer, kept?.id ?? "")).ok).toBe(true);
  });

  test.each([
    [{ to: "2024-12-31" }, "to"],
    [{ unit: "kwh" }, "unit"],
    [{ otherAmount: "2000" }, "otherAmount"],
    [{ amount: "" }, "amount"],
    [{ source: "" }, "source"],
  ])("with %j are refused by field", async (changes, path) => {
    const refused = await addReading(viewer, reading(changes));
    expect(refused.ok).toBe(false);
    if (!refused.ok) expect(refused.problems.map((problem) => problem.path)).toContain(path);
  });
});

describe("contracts", () => {
  test("move the market-based figure alone", async () => {
    const before = await accountOf(2025);
    expect(before.kgCo2e.scope2Location).toBeGreaterThanOrEqual(0);
    expect((await addContract(viewer, CONTRACT)).ok).toBe(true);
    const after = await accountOf(2025);
    expect(after.kgCo2e.scope2Location).toBe(before.kgCo2e.scope2Location);
    expect(after.kgCo2e.scope1).toBe(before.kgCo2e.scope1);
    expect(after.kgCo2e.scope2Market).toBeLessThanOrEqual(before.kgCo2e.scope2Market);
    const { instruments } = await readContracts(viewer);
    expect(instruments[0]?.problems).toEqual([]);
    expect((await removeContract(stranger, instruments[0]?.id ?? "")).ok).toBe(false);
    expect((await removeContract(viewer, instruments[0]?.id ?? "")).ok).toBe(true);
  });

  test.each([
    [{ coversPercent: "50" }, "coversKwh"],
    [{ lastYear: "2026" }, "lastYear"],
    [{ kgCo2ePerKwh: "-1" }, "kgCo2ePerKwh"],
    [{ name: "" }, "name"],
  ])("with %j are refused by field", async (changes, path) => {
    const refused = await addContract(viewer, { ...CONTRACT, ...changes });
    expect(refused.ok).toBe(false);
    if (!refused.ok) expect(refused.problems.map((problem) => problem.path)).toContain(path);
  });
});

describe("own factors", () => {
  const factor = (co2: string) => ({
    activity: "grid-electricity",
    region: "newe",
    vintage: "2024",
    co2,
    ch4: "0",
    n2o: "0",
    co2e: "",
    source: "published table",
  });

  test("count up in versions, and a withdrawn one no longer holds", async () => {
    await addFactor(viewer, factor("700"));
    await addFactor(viewer, factor("600"));
    const { own } = await readFactors(viewer);
    const co2 = own.filter(({ gas }) => gas === "co2");
    expect(co2.map(({ version, value }) => [version, value])).toEqual([
      [2, 600],
      [1, 700],
    ]);
    const valueUsed = async () =>
      (await accountOf(2025)).lines.find(
        ({ factor: row, gas }) =>
          row.activity === "grid-electricity" && row.region === "NEWE" && gas === "co2",
      )?.factor;
    expect(await valueUsed()).toMatchObject({ value: 600, vintage: 2024, evidence: "entered" });
    expect((await withdrawFactor(stranger, co2[0]?.id ?? "", true)).ok).toBe(false);
    for (const { id, version } of own) if (version === 2) await withdrawFactor(viewer, id, true);
    expect(await valueUsed()).toMatchObject({ value: 536.428, vintage: 2022 });
  });
});

describe("the rules of the account", () => {
  test("take a base year and a target, kept with each account", async () => {
    const { version } = await readTerms(viewer);
    const saved = await saveTerms(viewer, {
      version: String(version),
      gwpSet: "AR6",
      coverage: "all-location",
      market: "US",
      baseYear: "2021",
      thresholdPercent: "5",
      changes: "",
      target: "2030: 50\n2040: 90",
      upstreamPercent: "2.3",
      leakPercent: "1",
      endOfLifePercent: "50",
      outlook: "2030: 70",
      outlookSource: "own estimate",
    });
    expect(saved).toEqual({ ok: true, value: null });
    const summary = await accountOf(2025);
    expect(summary).toMatchObject({ baseYear: 2021, gwpSet: "AR6" });
    const target = summary.target.find(({ year }) => year === 2030);
    expect(target?.kgCo2e).toBeCloseTo(summary.base.comparedKg / 2, 6);
    expect(summary.apart.upstreamMethane?.kgCo2e).toBeGreaterThan(0);
  });

  test("adopt a base year's figure, and recalculate it once structural changes pass the threshold", async () => {
    const { runs } = await readEmissions(viewer, { runId: null, propertyId: null }, TODAY);
    const done = runs.find(({ status }) => status === "done");
    expect((await adoptBaseYear(stranger, done?.id ?? "", TODAY)).ok).toBe(false);
    expect((await adoptBaseYear(viewer, done?.id ?? "", TODAY)).ok).toBe(true);
    const { terms, version } = await readTerms(viewer);
    const adopted = terms.adopted?.kgCo2e ?? 0;
    expect(adopted).toBeGreaterThan(0);
    const form = {
      version: String(version),
      gwpSet: terms.gwpSet,
      coverage: terms.coverage,
      market: "US",
      baseYear: String(terms.baseYear),
      thresholdPercent: "5",
      changes: `bought ${Math.round(adopted / 10)} two houses`,
      target: "",
      upstreamPercent: "",
      leakPercent: "1",
      endOfLifePercent: "50",
      outlook: "",
      outlookSource: "",
    };
    expect((await saveTerms(viewer, form)).ok).toBe(true);
    const { base } = await accountOf(2025);
    expect(base.decision?.recalculate).toBe(true);
    expect(base.comparedKg).toBeCloseTo(adopted + Math.round(adopted / 10), 3);
    expect(await saveTerms(viewer, { ...form, changes: "grew 5 more" })).toMatchObject({
      ok: false,
      problems: [{ path: "changes" }],
    });
  });

  test("with a target before the base year are refused", async () => {
    const { version } = await readTerms(viewer);
    const refused = await saveTerms(viewer, {
      version: String(version),
      gwpSet: "AR5",
      coverage: "all-location",
      market: "US",
      baseYear: "2021",
      thresholdPercent: "5",
      target: "2020: 50",
      upstreamPercent: "",
      leakPercent: "1",
      endOfLifePercent: "50",
      outlook: "",
      outlookSource: "",
    });
    expect(refused).toMatchObject({ ok: false, problems: [{ path: "target" }] });
  });
});

describe("rules of properties", () => {
  test("that forbid burners are found broken in every year that has some", async () => {
    const added = await addPolicy(viewer, {
      name: "No burners",
      propertyId: "",
      kind: "no-combustion",
      from: "2027-01-01",
      basis: "property",
      coverage: "all-location",
      steps: "",
      otherKgPerYear: "",
      dollarsPerTonneOver: "",
      source: "invented for the test",
    });
    expect(added.ok).toBe(true);
    const { policies } = await accountOf(2025);
    expect(policies.find(({ year }) => year === 2027)).toMatchObject({ kind: "burners-left" });
    expect(policies.some(({ year }) => year === 2026)).toBe(false);
    expect((await readPolicies(stranger)).policies).toEqual([]);
  });
});

describe("the retirement ledger", () => {
  test("counts a heater as recycled when somebody notes it, and not before", async () => {
    const before = await readRetirements(viewer, null);
    const [first] = before.heaters;
    expect(before.years[0]?.byRoute.recycled).toBe(0);
    const noted = await recordDisposal(viewer, {
      heaterId: first?.heaterId ?? "",
      route: "recycled",
      weighedPounds: "110",
      receiver: "a scrap yard",
      document: "ticket 5",
    });
    expect(noted.ok).toBe(true);
    const after = await readRetirements(viewer, before.year);
    const year = after.years.find((each) => each.year === before.year);
    expect(year?.byRoute.recycled).toBe(1);
    // 110 lb are 49.895 kg, 85 % of them metal.
    expect(year?.metalRecycledKg).toBeCloseTo(0.85 * 49.895, 2);
  });

  test("takes no note of a heater in service", async () => {
    const { rows } = await database.owner.query(
      `SELECT id FROM "Heater" WHERE status = 'in-service' LIMIT 1`,
    );
    const form = {
      heaterId: rows[0].id,
      route: "landfill",
      weighedPounds: "",
      receiver: "",
      document: "",
    };
    expect((await recordDisposal(viewer, form)).ok).toBe(false);
  });
});

describe("homes before and after", () => {
  test("pay by who holds their meters, to the cent", async () => {
    const { homes } = await readHomes(viewer, { propertyId }, TODAY);
    expect(homes.length).toBeGreaterThan(0);
    for (const { result } of homes) {
      const { centsPaidBy, cents } = result.change;
      expect(centsPaidBy.owner + centsPaidBy.resident).toBe(cents);
    }
    expect((await readHomes(stranger, { propertyId }, TODAY)).homes).toEqual([]);
  });

  test("are listed by building, each heater of the property in one of them", async () => {
    const { buildings } = await readHomes(viewer, { propertyId }, TODAY);
    const listed: string[] = [];
    for (const { id: buildingId } of buildings) {
      const { homes } = await readHomes(viewer, { propertyId, buildingId }, TODAY);
      expect(homes.every((home) => home.buildingId === buildingId)).toBe(true);
      listed.push(...homes.map(({ heaterId }) => heaterId));
    }
    const { rows } = await database.owner.query(
      `SELECT h.id FROM "Heater" h JOIN "Building" b ON b.id = h."buildingId"
       WHERE b."propertyId" = $1 AND h.status = 'in-service'`,
      [propertyId],
    );
    expect(listed.sort()).toEqual(rows.map(({ id }) => id).sort());
  });

  test("have a sheet with the figures of the list, which no other organisation can open", async () => {
    const { homes } = await readHomes(viewer, { propertyId }, TODAY);
    const heaterId = homes[0]?.heaterId ?? "";
    const sheet = await readHomeSheet(viewer, heaterId, TODAY);
    expect(sheet?.line).toEqual(homes[0]);
    expect(await readHomeSheet(stranger, heaterId, TODAY)).toBeNull();
    expect(await readHomeSheet(viewer, "not-an-id", TODAY)).toBeNull();
  });
});
