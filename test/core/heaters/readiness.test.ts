import { describe, expect, test } from "vitest";
import {
  effectiveAnswers,
  readinessOf,
  SURVEY_ITEMS,
  SURVEY_QUESTIONS,
  type SurveyAnswer,
  surveyItemsOf,
  surveyProgress,
} from "@/lib/core/heaters/readiness";
import { whyNotAlike } from "@/lib/core/heaters/readiness-likeness";
import { adviseByMeasures } from "@/lib/core/heaters/readiness-measures";
import { READINESS_ITEMS } from "@/lib/core/heaters/vocabulary";
import { aHeater } from "@/test/support/a-heater";

const said = (
  item: SurveyAnswer["item"],
  answer: SurveyAnswer["answer"],
  basis: SurveyAnswer["basis"] = "seen",
) => ({ item, answer, basis });

describe("the answers that hold", () => {
  test("are what was seen, what was inferred, and not known for the rest", () => {
    const answers = effectiveAnswers(aHeater(), [
      said("clearance", "yes"),
      said("noise", "no", "inferred"),
    ]);
    expect(answers.clearance).toEqual({ answer: "yes", from: "seen" });
    expect(answers.noise).toEqual({ answer: "no", from: "inferred" });
    expect(answers.structure).toEqual({ answer: "unknown", from: "none" });
  });

  test("take pan and shut-off from the heater's record until somebody has looked", () => {
    const heater = aHeater({ drainPan: "yes", leakShutoff: "no" });
    expect(effectiveAnswers(heater, [])["drain-pan"]).toEqual({ answer: "yes", from: "record" });
    expect(effectiveAnswers(heater, [said("drain-pan", "unknown")])["drain-pan"].answer).toBe(
      "yes",
    );
    expect(effectiveAnswers(heater, [said("drain-pan", "no")])["drain-pan"]).toEqual({
      answer: "no",
      from: "seen",
    });
  });

  test("give an electric heater its circuit and its space in the panel", () => {
    const tank = effectiveAnswers(
      aHeater({ technology: "electric-storage", fuel: "electricity" }),
      [said("circuit-240v", "no")],
    );
    expect(tank["circuit-240v"]).toEqual({ answer: "yes", from: "record" });
    expect(tank["panel-space"].answer).toBe("yes");
    const plugIn = effectiveAnswers(aHeater({ technology: "heat-pump-plug-in" }), []);
    expect(plugIn["circuit-120v"].answer).toBe("yes");
    expect(plugIn["circuit-240v"].answer).toBe("unknown");
  });

  test("for planning hold every readiness item and nothing else", () => {
    expect(Object.keys(readinessOf(effectiveAnswers(aHeater(), []))).sort()).toEqual(
      [...READINESS_ITEMS].sort(),
    );
  });
});

describe("the survey", () => {
  test("asks every readiness item, and of gas and vents only where there is gas", () => {
    expect(new Set(SURVEY_ITEMS)).toEqual(new Set([...READINESS_ITEMS, "common-vent"]));
    expect(surveyItemsOf("gas-storage")).toHaveLength(14);
    expect(surveyItemsOf("electric-storage")).not.toContain("vent-capoff");
    expect(surveyItemsOf("electric-storage")).not.toContain("common-vent");
  });

  test("carries a caution where looking or the work behind it can hurt", () => {
    const cautions = SURVEY_ITEMS.flatMap((item) => SURVEY_QUESTIONS[item].caution ?? []);
    expect(new Set(cautions)).toEqual(
      new Set(["lifting", "relief-valve", "electrical", "gas-capoff", "combustion-air"]),
    );
  });

  test("counts what is known, inferred and not known", () => {
    expect(
      surveyProgress(aHeater(), [
        said("clearance", "yes"),
        said("noise", "no", "inferred"),
        said("structure", "unknown"),
      ]),
    ).toEqual({ asked: 14, known: 2, inferred: 1, unknown: 12, isSeen: true });
    expect(surveyProgress(aHeater(), [])).toMatchObject({ known: 0, isSeen: false });
  });
});

describe("measures", () => {
  test("of a closet advise by the published air volumes", () => {
    const closet = { lengthFt: 3, widthFt: 3, heightFt: 8, louvreSquareInches: null };
    expect(adviseByMeasures("air-volume", { ...closet, isDucted: false }, null)?.answer).toBe("no");
    expect(adviseByMeasures("air-volume", { ...closet, isDucted: true }, null)?.answer).toBe("yes");
  });

  test("of a common vent answer nothing and warn of what stays behind", () => {
    const advice = adviseByMeasures(
      "common-vent",
      { leftBtuPerHour: 80_000, roomCubicFeet: 2_880 },
      40_000,
    );
    expect(advice?.answer).toBeNull();
    expect(advice?.sentences.join(" ")).toMatch(/67 % of the input stays.*4,000 ft³/);
  });

  test("that do not fit their item advise nothing", () => {
    expect(adviseByMeasures("condensate-route", { lengthFt: 3 }, null)).toBeNull();
    expect(adviseByMeasures("air-volume", null, null)).toBeNull();
  });
});

describe("likeness of homes", () => {
  const home = { ...aHeater().home, bedrooms: 2, bathrooms: 1, riser: "A" };
  const seen = aHeater({ home });

  test("is one building, kind of heater, kind of place and plan", () => {
    expect(whyNotAlike(seen, aHeater({ id: "b", home }), { sameRiser: true })).toEqual([]);
    expect(
      whyNotAlike(
        seen,
        aHeater({ buildingId: "other", place: "garage", home: { ...home, bedrooms: 3 } }),
        { sameRiser: false },
      ),
    ).toEqual(["another building", "another kind of place", "other number of bedrooms"]);
  });

  test("is never taken from what is not on record", () => {
    expect(
      whyNotAlike(seen, aHeater({ home: { ...home, bathrooms: null, riser: null } }), {
        sameRiser: true,
      }),
    ).toEqual(["bathrooms not on record", "riser not on record"]);
  });
});
