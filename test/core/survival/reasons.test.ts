import { describe, expect, test } from "vitest";
import { calendarDay } from "@/lib/core/shared/calendar-day";
import { PRIOR_MODEL } from "@/lib/core/survival/model";
import { forecastFailure } from "@/lib/core/survival/predict";
import { explainRisk, shapleyValues } from "@/lib/core/survival/reasons";
import { aHeater } from "@/test/support/a-heater";

const today = calendarDay("2026-06-01");
const hard = aHeater({
  setpointF: 140,
  closedSystem: "yes",
  expansionControl: "no",
  water: { ...aHeater().water, hardnessMgPerLitre: 300, softened: "no" },
  home: { ...aHeater().home, bedrooms: 1, occupants: 4 },
  care: {
    ...aHeater().care,
    flushDays: [calendarDay("2024-05-01"), calendarDay("2025-12-01")],
    anodeInspection: { day: calendarDay("2023-04-01"), state: "spent" },
  },
});

describe("shapleyValues", () => {
  // The glove game of Shapley and Shubik: two left gloves, one right; a pair is worth 1. Values
  // 1/6, 1/6 and 4/6 (any textbook of cooperative games).
  test("split the glove game by 1/6, 1/6 and 4/6", () => {
    const worth = (set: number) => (set & 4 && set & 3 ? 1 : 0);
    const parts = shapleyValues(
      Array.from({ length: 8 }, (_, set) => worth(set)),
      3,
    );
    expect(parts[0]).toBeCloseTo(1 / 6, 14);
    expect(parts[1]).toBeCloseTo(1 / 6, 14);
    expect(parts[2]).toBeCloseTo(4 / 6, 14);
  });

  test("are nothing for no players", () => {
    expect(shapleyValues([0.4], 0)).toHaveLength(0);
  });
});

describe("explainRisk", () => {
  test("the changes add up from an ordinary heater to this one", () => {
    const explanation = explainRisk(PRIOR_MODEL, hard, today);
    const sum = explanation.factors.reduce((total, { change }) => total + change, 0);
    const { failureProbabilities } = forecastFailure(PRIOR_MODEL, hard, {
      today,
      horizonsYears: [1],
    });
    expect(explanation.probability).toBeCloseTo(failureProbabilities[0], 14);
    expect(explanation.baselineProbability + sum).toBeCloseTo(explanation.probability, 14);
    expect(explanation.factors.map(({ factor }) => factor).sort()).toEqual(
      ["anode", "closedSystem", "draw", "flush", "hardness", "setpoint"].sort(),
    );
  });

  test("the baseline is an ordinary heater of the same kind and age", () => {
    const ordinary = forecastFailure(PRIOR_MODEL, aHeater(), { today, horizonsYears: [1] });
    expect(explainRisk(PRIOR_MODEL, hard, today).baselineProbability).toBeCloseTo(
      ordinary.failureProbabilities[0],
      14,
    );
  });

  test("sentences carry the heater's own numbers and the direction", () => {
    const sentences = explainRisk(PRIOR_MODEL, hard, today).factors.map((f) => f.sentence);
    expect(sentences).toContainEqual(
      expect.stringMatching(
        /^Water hardness of 300 mg\/L against 120 in ordinary water: adds \d+\.\d points\.$/,
      ),
    );
    expect(sentences).toContainEqual(
      expect.stringMatching(
        /^Anode found spent on 2023-04-01 and not replaced since: adds \d+\.\d points\.$/,
      ),
    );
    expect(sentences).toContainEqual(
      expect.stringMatching(/^Flushed twice, last on 2025-12-01: takes \d+\.\d points off\.$/),
    );
    expect(sentences).toContainEqual(
      expect.stringMatching(/^4 people in a home with 1 bedroom: adds \d+\.\d points\.$/),
    );
  });

  test("a heater of which nothing is known has no reasons, only its age", () => {
    const explanation = explainRisk(PRIOR_MODEL, aHeater(), today);
    expect(explanation.factors).toEqual([]);
    expect(explanation.probability).toBe(explanation.baselineProbability);
    expect(explanation.baselineSentence).toMatch(
      /^An ordinary heater of this kind \(gas tank\), 11 years old: 11\.\d % in 12 months\.$/,
    );
  });

  test("a property that wears its heaters faster is a reason", () => {
    const model = { ...PRIOR_MODEL, propertyEffects: { "property-1": 0.2 } };
    const [reason] = explainRisk(model, aHeater(), today).factors;
    expect(reason.factor).toBe("property");
    expect(reason.change).toBeGreaterThan(0);
    expect(reason.sentence).toMatch(/^Heaters at this property wear 22 % faster/);

    const alike = { ...PRIOR_MODEL, propertyEffects: { "property-1": 0.003 } };
    const [{ sentence }] = explainRisk(alike, aHeater(), today).factors;
    expect(sentence).toMatch(/^Heaters at this property wear about as the rest/);
  });
});
