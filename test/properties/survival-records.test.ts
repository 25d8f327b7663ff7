import { describe, expect, test } from "vitest";
import {
  addDays,
  calendarDay,
  DAYS_PER_YEAR,
  dayNumber,
  yearsBetween,
} from "@/lib/core/shared/calendar-day";
import { createRandom } from "@/lib/core/stats/random";
import { COVARIATES, TYPICAL_VALUES } from "@/lib/core/survival/covariates";
import { covariateHistory, wearBetween } from "@/lib/core/survival/exposure";
import { type LifeRecord, prepareRecords } from "@/lib/core/survival/life-record";
import { lifetimeColumns } from "@/lib/core/survival/lifetimes";
import { PRIOR_MODEL, wearPath } from "@/lib/core/survival/model";
import { COMMON_PARAMETERS, commonOf } from "@/lib/core/survival/parameters";
import { evaluateRecords } from "@/lib/core/survival/record-likelihood";
import { cumulativeHazard } from "@/lib/core/survival/weibull";
import { evaluateLikelihood } from "@/lib/core/survival/weibull-likelihood";
import { aHeater } from "@/test/support/a-heater";
import { PORTFOLIO_TODAY, simulatePortfolio } from "@/test/support/simulate-portfolio";

const records = simulatePortfolio({
  truth: PRIOR_MODEL,
  seed: 4,
  heaters: 60,
  properties: 3,
  recordYears: 12,
});
const today = PORTFOLIO_TODAY;
const centre = commonOf(PRIOR_MODEL.lifetimes, PRIOR_MODEL.coefficients);

describe("the likelihood of records", () => {
  test("has derivatives that equal finite differences, one record at a time", () => {
    const random = createRandom(9);
    for (const record of records) {
      const { columns } = prepareRecords([record], today);
      if (columns.count === 0) continue;
      const point = Float64Array.from({ length: COMMON_PARAMETERS + 1 }, (_, i) =>
        i < COMMON_PARAMETERS ? centre[i] + 0.1 * random.nextNormal() : 0.1,
      );
      const at = (i: number, by: number) =>
        evaluateRecords(
          columns,
          point.map((value, k) => (k === i ? value + by : value)),
        );
      const { gradient, curvature } = evaluateRecords(columns, point);
      const step = 1e-5;
      for (let i = 0; i < point.length; i++) {
        const up = at(i, step);
        const down = at(i, -step);
        expect((up.value - down.value) / (2 * step)).toBeCloseTo(gradient[i], 5);
        for (let j = 0; j < point.length; j++) {
          const bend = -(up.gradient[j] - down.gradient[j]) / (2 * step);
          const isGroupI = i === COMMON_PARAMETERS;
          const isGroupJ = j === COMMON_PARAMETERS;
          const entry =
            isGroupI && isGroupJ
              ? curvature.diagonal[0]
              : isGroupI || isGroupJ
                ? curvature.cross[Math.min(i, j)]
                : curvature.common[i * COMMON_PARAMETERS + j];
          expect(bend).toBeCloseTo(entry, 4);
        }
      }
    }
  });

  test("equals the likelihood of lifetimes where covariates and install days are known", () => {
    const installed = calendarDay("2008-03-01");
    const observedFrom = calendarDay("2012-01-01");
    const plain: LifeRecord[] = [0, 150, 300].flatMap((hardnessMgPerLitre, k) =>
      [null, calendarDay("2021-05-05")].map((failed) => ({
        heater: aHeater({
          install: { earliest: installed, latest: installed, evidence: "invoice" },
          water: { ...aHeater().water, hardnessMgPerLitre, softened: "no" },
        }),
        observedFrom,
        retirement: failed && {
          heaterId: "heater-1",
          earliest: failed,
          latest: k === 2 ? addDays(failed, 90) : failed,
          cause: "leak",
          emergency: true,
        },
      })),
    );
    const lifetimes = lifetimeColumns(
      COVARIATES,
      plain.map(({ heater, retirement }) => {
        const end = retirement?.earliest ?? today;
        const [values] = covariateHistory(heater).values;
        const bracketed = retirement !== null && retirement.latest > retirement.earliest;
        return {
          entry: yearsBetween(installed, observedFrom),
          lower: yearsBetween(installed, end),
          upper: yearsBetween(installed, retirement?.latest ?? today),
          outcome: retirement ? (bracketed ? "failed-within" : "failed") : "alive",
          x: COVARIATES.map((name, j) => values[j] - TYPICAL_VALUES[name].value),
        };
      }),
    );
    const { shape, scaleYears } = PRIOR_MODEL.lifetimes["gas-storage"];
    const common = COVARIATES.map((name) => PRIOR_MODEL.coefficients[name]);
    const simple = evaluateLikelihood(
      lifetimes,
      Float64Array.of(Math.log(shape), Math.log(scaleYears), ...common),
    );
    const { columns } = prepareRecords(plain, today);
    const full = evaluateRecords(columns, Float64Array.of(...centre, 0));
    expect(full.value).toBeCloseTo(simple.value, 10);
    expect(full.gradient[0]).toBeCloseTo(simple.gradient[0], 10);
  });

  // The same integral over the bracket by 4,000 midpoints, written out.
  test("integrates an install bracket that reaches past the first day of records", () => {
    const observedFrom = calendarDay("2010-01-01");
    const install = {
      earliest: calendarDay("2004-01-01"),
      latest: calendarDay("2013-01-01"),
      evidence: "none",
    } as const;
    const failed = calendarDay("2020-07-01");
    const heater = aHeater({
      install,
      care: { ...aHeater().care, anodeReplacementDays: [calendarDay("2016-01-01")] },
    });
    const record: LifeRecord = {
      heater,
      observedFrom,
      retirement: {
        heaterId: heater.id,
        earliest: failed,
        latest: failed,
        cause: "leak",
        emergency: true,
      },
    };
    const path = wearPath(PRIOR_MODEL, heater.propertyId, covariateHistory(heater));
    const lifetime = PRIOR_MODEL.lifetimes["gas-storage"];
    const from = dayNumber(install.earliest);
    const span = dayNumber(install.latest) - from;
    let ended = 0;
    let seen = 0;
    const points = 4_000;
    for (let i = 0; i < points; i++) {
      const installed = from + ((i + 0.5) / points) * span;
      const hazardBy = (day: number) =>
        cumulativeHazard(lifetime, wearBetween(path, installed, day));
      const end = dayNumber(failed);
      // Hazard per year on the day of failure, by a difference over two days.
      const rate = ((hazardBy(end + 1) - hazardBy(end - 1)) / 2) * DAYS_PER_YEAR;
      ended += rate * Math.exp(-hazardBy(end));
      seen += Math.exp(-hazardBy(dayNumber(observedFrom)));
    }
    const { columns } = prepareRecords([record], today);
    const { value } = evaluateRecords(columns, Float64Array.of(...centre, 0));
    expect(value).toBeCloseTo(Math.log(ended / seen), 4);
  });

  test("does not depend on the order of the records", () => {
    const value = (given: readonly LifeRecord[]) =>
      evaluateRecords(prepareRecords(given, today).columns, Float64Array.of(...centre, 0, 0, 0))
        .value;
    expect(value([...records].reverse())).toBeCloseTo(value(records), 8);
  });
});
