import { describe, expect, test } from "vitest";
import { addYears, calendarDay, dayNumber } from "@/lib/core/shared/calendar-day";
import { COVARIATES, type Covariate } from "@/lib/core/survival/covariates";
import { covariateHistory, wearBetween } from "@/lib/core/survival/exposure";
import { PRIOR_MODEL, wearPath } from "@/lib/core/survival/model";
import { aHeater } from "@/test/support/a-heater";

const installed = calendarDay("2010-01-01");
const install = { earliest: installed, latest: installed, evidence: "invoice" } as const;
const care = aHeater().care;
const water = aHeater().water;

const valueOn = (heater: ReturnType<typeof aHeater>, covariate: Covariate, day: string): number => {
  const { startDays, values } = covariateHistory(heater);
  const piece = startDays.findLastIndex((start) => start <= dayNumber(calendarDay(day)));
  return values[piece][COVARIATES.indexOf(covariate)];
};

const wearOf = (heater: ReturnType<typeof aHeater>, from: string, to: string): number =>
  wearBetween(
    wearPath(PRIOR_MODEL, heater.propertyId, covariateHistory(heater)),
    dayNumber(calendarDay(from)),
    dayNumber(calendarDay(to)),
  );

describe("covariateHistory", () => {
  test("a heater of which nothing is known wears one year per year", () => {
    expect(wearOf(aHeater({ install }), "2010-01-01", "2020-01-01")).toBeCloseTo(
      3652 / 365.2425,
      12,
    );
  });

  test("hardness counts from 60 mg/L, and not behind a softener", () => {
    const hardness = (hardnessMgPerLitre: number | null, softened: "yes" | "no" = "no") =>
      valueOn(
        aHeater({ water: { ...water, hardnessMgPerLitre, softened } }),
        "hardness",
        "2016-01-01",
      );
    expect(hardness(0)).toBe(0);
    expect(hardness(60)).toBe(0);
    expect(hardness(61)).toBeCloseTo(0.01, 12);
    expect(hardness(260)).toBe(2);
    expect(hardness(260, "yes")).toBe(0);
    expect(hardness(null)).toBe(0.6);
  });

  test("setpoint counts above 120 °F", () => {
    const setpoint = (setpointF: number | null) =>
      valueOn(aHeater({ setpointF }), "setpoint", "2016-01-01");
    expect([119, 120, 121, 140].map(setpoint)).toEqual([0, 0, 0.1, 2]);
    expect(setpoint(null)).toBe(0.5);
  });

  test("a closed feed needs both answers before it counts", () => {
    const closed = (
      closedSystem: "yes" | "no" | "unknown",
      expansionControl: typeof closedSystem,
    ) => valueOn(aHeater({ closedSystem, expansionControl }), "closedSystem", "2016-01-01");
    expect(closed("yes", "no")).toBe(1);
    expect(closed("yes", "yes")).toBe(0);
    expect(closed("no", "unknown")).toBe(0);
    expect(closed("yes", "unknown")).toBe(0.2);
    expect(closed("unknown", "unknown")).toBe(0.2);
  });

  test("people above one more than the bedrooms count by doublings", () => {
    const draw = (occupants: number | null) =>
      valueOn(
        aHeater({ home: { ...aHeater().home, bedrooms: 1, occupants } }),
        "highDraw",
        "2016-01-01",
      );
    expect([null, 1, 2, 4, 8, 99].map(draw)).toEqual([0, 0, 0, 1, 2, 2]);
  });

  test("a spent anode counts from the day it was found until it is replaced", () => {
    const heater = aHeater({
      install,
      care: {
        ...care,
        anodeInspection: { day: calendarDay("2015-01-01"), state: "spent" },
        anodeReplacementDays: [calendarDay("2016-01-01")],
      },
    });
    const days = ["2014-12-31", "2015-01-01", "2015-12-31", "2016-01-01"];
    expect(days.map((day) => valueOn(heater, "anodeSpent", day))).toEqual([0, 1, 1, 0]);
    expect(days.map((day) => valueOn(heater, "anodeProtected", day))).toEqual([0, 0, 0, 1]);
  });

  test("an anode found spent no longer protects, though its time was not up", () => {
    const heater = aHeater({
      install,
      care: {
        ...care,
        anodeReplacementDays: [calendarDay("2014-01-01")],
        anodeInspection: { day: calendarDay("2015-01-01"), state: "spent" },
      },
    });
    expect(valueOn(heater, "anodeProtected", "2014-06-01")).toBe(1);
    expect(valueOn(heater, "anodeProtected", "2015-06-01")).toBe(0);
    expect(valueOn(heater, "anodeSpent", "2020-06-01")).toBe(1);
  });

  test("an anode lasts half as long in softened water", () => {
    const heater = (softened: "yes" | "no") =>
      aHeater({
        install,
        water: { ...water, softened },
        care: { ...care, anodeReplacementDays: [calendarDay("2014-01-01")] },
      });
    expect(valueOn(heater("no"), "anodeProtected", "2017-06-01")).toBe(1);
    expect(valueOn(heater("yes"), "anodeProtected", "2017-06-01")).toBe(0);
  });

  test("a tankless heater has no anode and no expansion to take up", () => {
    const heater = aHeater({
      technology: "gas-instantaneous",
      install,
      closedSystem: "yes",
      expansionControl: "no",
      water: { ...water, softened: "yes", hardnessMgPerLitre: 120 },
      care: { ...care, anodeReplacementDays: [calendarDay("2014-01-01")] },
    });
    expect(valueOn(heater, "anodeProtected", "2014-06-01")).toBe(0);
    expect(valueOn(heater, "softened", "2014-06-01")).toBe(0);
    expect(valueOn(heater, "closedSystem", "2014-06-01")).toBe(0.2);
  });
});

describe("wearBetween", () => {
  test("an anode replaced in year 6 slows wear after year 6 and changes nothing before", () => {
    const replaced = addYears(installed, 6);
    const plain = aHeater({ install });
    const cared = aHeater({ install, care: { ...care, anodeReplacementDays: [replaced] } });
    expect(wearOf(cared, "2010-01-01", "2016-01-01")).toBe(
      wearOf(plain, "2010-01-01", "2016-01-01"),
    );
    // Two years at exp(−0.2), the prior coefficient of a sound anode.
    expect(wearOf(cared, "2016-01-01", "2018-01-01")).toBeCloseTo(
      wearOf(plain, "2016-01-01", "2018-01-01") * Math.exp(-0.2),
      12,
    );
    // Four years on it is no longer known to protect.
    expect(wearOf(cared, "2020-02-01", "2022-02-01")).toBeCloseTo(
      wearOf(plain, "2020-02-01", "2022-02-01"),
      12,
    );
  });

  test("adds up over adjoining spans and is zero backwards", () => {
    const heater = aHeater({
      install,
      care: { ...care, flushDays: [calendarDay("2012-03-01"), calendarDay("2013-01-01")] },
    });
    const whole = wearOf(heater, "2010-01-01", "2020-01-01");
    const parts =
      wearOf(heater, "2010-01-01", "2012-07-04") + wearOf(heater, "2012-07-04", "2020-01-01");
    expect(parts).toBeCloseTo(whole, 12);
    expect(wearOf(heater, "2020-01-01", "2010-01-01")).toBe(0);
  });
});
