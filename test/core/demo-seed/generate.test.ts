import { beforeAll, describe, expect, test } from "vitest";
import { z } from "zod";
import { generateDemo } from "@/demo-seed/generate";
import type { DemoPortfolio, HeaterRow } from "@/demo-seed/rows";
import {
  ANSWERS,
  hasTank,
  INSTALL_EVIDENCE,
  isCombustion,
  isFailureCause,
  PLACES,
  READINESS_ITEMS,
  RETIREMENT_CAUSES,
  TECHNOLOGIES,
} from "@/lib/core/heaters/vocabulary";
import { addYears, calendarDay, isCalendarDay, yearOf } from "@/lib/core/shared/calendar-day";
import { isFindingOf } from "@/lib/core/upkeep/findings";

const today = calendarDay("2026-11-20");
let demo: DemoPortfolio;
let inService: readonly HeaterRow[];

beforeAll(() => {
  demo = generateDemo({ seed: 1, today });
  inService = demo.heaters.filter((heater) => heater.status === "in-service");
});

const share = <T>(items: readonly T[], holds: (item: T) => boolean) =>
  items.filter(holds).length / items.length;

describe("the demo as a whole", () => {
  test("is the same for the same seed and day, and another for another seed", () => {
    const again = generateDemo({ seed: 1, today });
    const other = generateDemo({ seed: 2, today });

    expect(JSON.stringify(again)).toBe(JSON.stringify(demo));
    expect(other.heaters[0]?.id).not.toBe(demo.heaters[0]?.id);
    expect(JSON.stringify(other.retirements.map((row) => row.latest))).not.toBe(
      JSON.stringify(demo.retirements.map((row) => row.latest)),
    );
  });

  test("holds 1,200 heaters in service in 24 properties and 90 buildings, with 15 years of records", () => {
    expect(inService).toHaveLength(1_200);
    expect(demo.properties).toHaveLength(24);
    expect(demo.buildings).toHaveLength(90);
    expect(demo.recordsBeginOn).toBe(addYears(today, -15));
    expect(demo.retirements.length).toBe(demo.heaters.length - 1_200);
    expect(demo.retirements.length).toBeGreaterThan(1_000);
    expect(demo.serviceVisits.length).toBeGreaterThan(5_000);
  });

  test.each([50, 173, 3_000])("scales to %i heaters in service", (heaters) => {
    const scaled = generateDemo({ seed: 3, today, heaters });

    expect(scaled.heaters.filter((heater) => heater.status === "in-service")).toHaveLength(heaters);
    expect(new Set(scaled.heaters.map((heater) => heater.tag)).size).toBe(scaled.heaters.length);
    expect(new Set(scaled.properties.map((row) => row.name)).size).toBe(scaled.properties.length);
  });

  test.each([0, 49, 60.5, Number.NaN])("refuses %d heaters and names the argument", (heaters) => {
    expect(() => generateDemo({ seed: 1, today, heaters })).toThrow(/heaters.*at least 50/);
  });
});

// Shares are those that docs/methods/demo.md states; the tolerances are about four standard errors
// of a share of 1,200 heaters, wider where whole buildings decide.
describe("the mix of the demo", () => {
  test("8 % of install days are unknown, others are known to a year or a month", () => {
    const unknown = share(
      inService,
      ({ installEvidence }) => installEvidence === "none" || installEvidence === "building-age",
    );
    const exact = share(inService, (heater) => heater.installEarliest === heater.installLatest);

    expect(unknown).toBeGreaterThan(0.05);
    expect(unknown).toBeLessThan(0.11);
    expect(exact).toBeGreaterThan(0.65);
    expect(exact).toBeLessThan(0.88);
    expect(
      share(inService, (heater) => heater.installEvidence === "staff-estimate"),
    ).toBeGreaterThan(0.04);
  });

  test("most are gas tanks, some electric tanks, few heat pumps", () => {
    const of = (technology: string) => share(inService, (row) => row.technology === technology);

    expect(of("gas-storage")).toBeGreaterThan(0.6);
    expect(of("electric-storage")).toBeGreaterThan(0.12);
    expect(of("electric-storage")).toBeLessThan(0.3);
    expect(of("heat-pump-storage") + of("heat-pump-plug-in")).toBeGreaterThan(0.01);
    expect(of("heat-pump-storage") + of("heat-pump-plug-in")).toBeLessThan(0.1);
    expect(of("gas-instantaneous")).toBeGreaterThan(0.02);
  });

  test("some buildings have spare electrical capacity, some have none, some are not limited", () => {
    const circuits = demo.buildings.map((row) => row.headroomCircuits);

    expect(circuits.filter((count) => count === 0).length).toBeGreaterThan(5);
    expect(circuits.filter((count) => count === null).length).toBeGreaterThan(5);
    expect(circuits.filter((count) => count !== null && count >= 4).length).toBeGreaterThan(10);
    expect(demo.buildings.some((row) => row.headroomCircuits === 0 && row.upgradeCostCents)).toBe(
      true,
    );
  });

  test("floors and risers are known in most buildings and missing in a few", () => {
    const missing = demo.buildings.filter((row) => row.floors === null).length;

    expect(missing).toBeGreaterThanOrEqual(3);
    expect(missing).toBeLessThan(15);
    expect(share(demo.units, (row) => row.floor !== null && row.riser !== null)).toBeGreaterThan(
      0.85,
    );
  });

  test("water runs from soft to very hard, some softened, some never tested", () => {
    const hardness = demo.waterTests.map((row) => row.hardnessMgPerLitre ?? 0);
    const tested = new Set(demo.waterTests.map((row) => row.propertyId));

    expect(Math.min(...hardness)).toBeLessThan(60);
    expect(Math.max(...hardness)).toBeGreaterThan(180);
    expect(tested.size).toBe(22);
    for (const answer of ANSWERS) {
      expect(demo.waterTests.some((row) => row.softened === answer)).toBe(true);
    }
  });

  test("nameplates and readiness answers have gaps", () => {
    expect(inService.some((heater) => heater.serial === null)).toBe(true);
    expect(inService.some((heater) => heater.setpointF === null)).toBe(true);
    expect(
      inService.some((heater) => heater.volumeGal === null && hasTank(heater.technology)),
    ).toBe(true);
    const unknown = share(demo.readinessAnswers, (row) => row.answer === "unknown");
    expect(unknown).toBeGreaterThan(0.05);
    expect(unknown).toBeLessThan(0.25);
    const surveyed = new Set(demo.readinessAnswers.map((row) => row.heaterId)).size;
    expect(surveyed / inService.length).toBeGreaterThan(0.4);
    expect(surveyed / inService.length).toBeLessThan(0.8);
  });

  test("planned swaps are on record beside failures", () => {
    const planned = share(demo.retirements, (row) => row.cause === "planned");
    expect(planned).toBeGreaterThan(0.05);
    expect(planned).toBeLessThan(0.25);
    expect(share(demo.retirements, (row) => row.emergency)).toBeGreaterThan(0.6);
  });
});

describe("every row of the demo", () => {
  test("has an id of its own that is a UUID", () => {
    const tables = [
      demo.properties,
      demo.buildings,
      demo.units,
      demo.waterTests,
      demo.heaters,
      demo.retirements,
      demo.readinessAnswers,
      demo.serviceVisits,
      demo.visitTasks,
    ] as readonly (readonly { readonly id: string }[])[];
    const ids = tables.flatMap((rows) => rows.map((row) => row.id));

    expect(new Set(ids).size).toBe(ids.length);
    for (const rows of tables) {
      expect(z.uuid().safeParse(rows.at(0)?.id).success).toBe(true);
      expect(z.uuid().safeParse(rows.at(-1)?.id).success).toBe(true);
    }
  });

  test("points to rows that exist, a predecessor before its successor", () => {
    const properties = new Set(demo.properties.map((row) => row.id));
    const buildings = new Set(demo.buildings.map((row) => row.id));
    const buildingOfUnit = new Map(demo.units.map((row) => [row.id, row.buildingId]));
    const heaters = new Set<string>();
    for (const row of demo.heaters) {
      expect(buildings.has(row.buildingId)).toBe(true);
      if (row.unitId !== null) expect(buildingOfUnit.get(row.unitId)).toBe(row.buildingId);
      if (row.predecessorId !== null) expect(heaters.has(row.predecessorId)).toBe(true);
      heaters.add(row.id);
    }
    const visits = new Map(demo.serviceVisits.map((row) => [row.id, row]));
    expect(demo.buildings.every((row) => properties.has(row.propertyId))).toBe(true);
    expect(demo.waterTests.every((row) => properties.has(row.propertyId))).toBe(true);
    expect(demo.serviceVisits.every((row) => heaters.has(row.heaterId))).toBe(true);
    for (const task of demo.visitTasks) {
      const visit = visits.get(task.visitId);
      expect(visit?.heaterId).toBe(task.heaterId);
      expect(visit?.visitedOn).toBe(task.doneOn);
    }
  });

  test("uses the words of the record", () => {
    for (const row of demo.heaters) {
      expect(TECHNOLOGIES).toContain(row.technology);
      expect(PLACES).toContain(row.place);
      expect(INSTALL_EVIDENCE).toContain(row.installEvidence);
      expect(row.fuel === "electricity").toBe(!isCombustion(row.technology));
      expect(row.volumeGal !== null && row.technology === "gas-instantaneous").toBe(false);
      expect(row.homesServed).toBe(row.unitId === null ? 4 : 1);
    }
    for (const row of demo.retirements) expect(RETIREMENT_CAUSES).toContain(row.cause);
    for (const row of demo.visitTasks) {
      if (row.finding !== null) expect(isFindingOf(row.task, row.finding)).toBe(true);
    }
    for (const row of demo.readinessAnswers) {
      expect(READINESS_ITEMS).toContain(row.item);
      expect(ANSWERS).toContain(row.answer);
    }
  });

  test("keeps its days in order: installed, visited, retired, succeeded", () => {
    const heaters = new Map(demo.heaters.map((row) => [row.id, row]));
    const retirements = new Map(demo.retirements.map((row) => [row.heaterId, row]));
    for (const heater of demo.heaters) {
      const retirement = retirements.get(heater.id);
      expect(isCalendarDay(heater.installEarliest) && isCalendarDay(heater.installLatest)).toBe(
        true,
      );
      expect(heater.installEarliest <= heater.installLatest).toBe(true);
      expect(heater.installLatest <= today).toBe(true);
      expect(heater.status === "retired").toBe(retirement !== undefined);
      if (retirement) {
        expect(retirement.earliest <= retirement.latest).toBe(true);
        expect(retirement.latest <= today).toBe(true);
        expect(heater.installEarliest <= retirement.earliest).toBe(true);
        expect(heater.installLatest <= retirement.latest).toBe(true);
      }
      const before = heater.predecessorId ? retirements.get(heater.predecessorId) : undefined;
      if (heater.predecessorId) {
        expect(heaters.get(heater.predecessorId)?.unitId).toBe(heater.unitId);
        expect(before && before.earliest <= heater.installEarliest).toBe(true);
        expect(before && before.latest <= heater.installLatest).toBe(true);
      }
    }
    for (const visit of demo.serviceVisits) {
      const heater = heaters.get(visit.heaterId);
      const retirement = retirements.get(visit.heaterId);
      expect(heater && heater.installLatest <= visit.visitedOn).toBe(true);
      expect(visit.visitedOn <= (retirement?.earliest ?? today)).toBe(true);
    }
  });

  test("brackets the true days", () => {
    const retirements = new Map(demo.retirements.map((row) => [row.heaterId, row]));
    demo.trueLives.forEach((life, index) => {
      const heater = demo.heaters[index] as HeaterRow;
      expect(heater.id).toBe(life.heaterId);
      expect(heater.installEarliest <= life.installedOn).toBe(true);
      expect(life.installedOn <= heater.installLatest).toBe(true);
      const retirement = retirements.get(life.heaterId);
      if (!retirement) return;
      expect(retirement.earliest <= life.seenTo && life.seenTo <= retirement.latest).toBe(true);
      expect(isFailureCause(retirement.cause)).toBe(life.failed);
    });
  });

  test("is seen only from the day its property has records", () => {
    const propertyOf = new Map(demo.buildings.map((row) => [row.id, row.propertyId]));
    const begins = new Map(
      demo.heaters.map((row) => [
        row.id,
        demo.recordsBeginByProperty.get(propertyOf.get(row.buildingId) ?? ""),
      ]),
    );
    for (const life of demo.trueLives)
      expect(life.seenTo >= (begins.get(life.heaterId) ?? "9")).toBe(true);
    for (const visit of demo.serviceVisits) {
      expect(visit.visitedOn >= (begins.get(visit.heaterId) ?? "9")).toBe(true);
    }
    const late = [...demo.recordsBeginByProperty.values()].filter(
      (day) => day > demo.recordsBeginOn,
    );
    expect(late).toHaveLength(4);
  });

  test("stands in a building that is no younger than its heaters", () => {
    const builtYear = new Map(demo.buildings.map((row) => [row.id, row.builtYear]));
    for (const heater of demo.heaters) {
      expect(yearOf(heater.installEarliest)).toBeGreaterThanOrEqual(
        builtYear.get(heater.buildingId) as number,
      );
    }
  });
});
