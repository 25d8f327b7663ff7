import { describe, expect, test } from "vitest";
import {
  ASSUMED_REFRIGERANT_TERMS,
  type RefrigerantEvent,
  refrigerantLosses,
} from "@/lib/core/emissions/refrigerant-account";
import { calendarDay } from "@/lib/core/shared/calendar-day";

const HEAT_PUMP = { id: "hp", technology: "heat-pump-storage" } as const;
const SERVICE = { from: calendarDay("2020-01-01"), to: calendarDay("2024-06-30") };

const entry = (kind: RefrigerantEvent["kind"], day: string, kg: number): RefrigerantEvent => ({
  heaterId: "hp",
  kind,
  refrigerant: "R-134a",
  kg,
  day: calendarDay(day),
});

const losses = (year: number, log: readonly RefrigerantEvent[] = [], isRetired = true) =>
  refrigerantLosses(HEAT_PUMP, {
    year,
    service: SERVICE,
    isRetired,
    log,
    terms: ASSUMED_REFRIGERANT_TERMS,
  }).map(({ cause, kg, basis }) => [cause, Number(kg.toFixed(6)), basis]);

describe("refrigerant lost by a heat pump", () => {
  test("is an assumed share of an assumed charge where nothing is on record", () => {
    expect(losses(2022)).toEqual([["leak", 0.0075, "modelled"]]);
  });

  test("is what was weighed where it was topped up, in that year alone", () => {
    const log = [entry("charge", "2020-01-01", 0.9), entry("top-up", "2022-03-01", 0.2)];
    expect(losses(2022, log)).toEqual([["leak", 0.2, "metered"]]);
    expect(losses(2023, log)).toEqual([["leak", 0.009, "modelled"]]);
  });

  test("counts the days in service, and at the end half of the charge when nobody recovered it", () => {
    // 182 of 366 days of 1 % of 0.75 kg, then half of it in the year of its retirement.
    expect(losses(2024)).toEqual([
      ["leak", Number(((0.0075 * 182) / 366).toFixed(6)), "modelled"],
      ["end-of-life", 0.375, "modelled"],
    ]);
    expect(losses(2024, [], false).map(([cause]) => cause)).toEqual(["leak"]);
  });

  test("at the end is the charge less what was recovered, never below nothing", () => {
    const charge = entry("charge", "2020-01-01", 0.8);
    expect(losses(2024, [charge, entry("recovery", "2024-07-02", 0.7)])[1]).toEqual([
      "end-of-life",
      0.1,
      "metered",
    ]);
    expect(losses(2024, [charge, entry("recovery", "2024-07-02", 0.9)])).toHaveLength(1);
  });

  test("is nothing without a circuit or outside its service", () => {
    expect(
      refrigerantLosses(
        { id: "gas", technology: "gas-storage" },
        {
          year: 2022,
          service: SERVICE,
          isRetired: false,
          log: [],
          terms: ASSUMED_REFRIGERANT_TERMS,
        },
      ),
    ).toEqual([]);
    expect(losses(2019)).toEqual([]);
    expect(losses(2025)).toEqual([]);
  });
});
