import { execFileSync, spawnSync } from "node:child_process";
import { fileURLToPath } from "node:url";
import { describe, expect, test } from "vitest";
import { computeSurvivalFit, type SurvivalFitOutput } from "@/lib/core/survival/compute-fit";
import {
  aml,
  ballBearings,
  bearingCage,
  breastCosmesis,
  channing,
  lung,
  type Observation,
  ovarian,
  SURVIVAL_DATA_FOLDER,
  shockAbsorber,
} from "./survival-data";

function fitFlat(observations: readonly Observation[]): SurvivalFitOutput {
  const outcome = computeSurvivalFit({ observations, prior: "flat" });
  if (!outcome.ok) throw new Error(JSON.stringify(outcome.problems));
  return outcome.value;
}

/** Agreement to four significant digits. */
function expectFourDigits(actual: number, expected: number): void {
  expect(Math.abs(actual / expected - 1)).toBeLessThan(5e-5);
}

describe("fits without a prior equal published fits to four digits", () => {
  // survreg of R 4.2.2, package survival 3.5-3. Shape 1/scale, coefficients with the sign changed
  // (survreg's lengthen life, ours speed wear).
  test("ovarian cancer, no covariates", () => {
    const { shape, scale, logLikelihood, standardErrors, converged } = fitFlat(ovarian());
    expect(converged).toBe(true);
    expectFourDigits(shape, 1.10806);
    expectFourDigits(Math.log(scale), 7.111038);
    expectFourDigits(logLikelihood, -97.9539);
    expectFourDigits(standardErrors.logScale, 0.292728);
    expectFourDigits(standardErrors.logShape, 0.253605);
  });

  // The example on the package's own help page of survreg.
  test("ovarian cancer by performance status and treatment", () => {
    const { shape, scale, coefficients, logLikelihood } = fitFlat(ovarian("ecog.ps", "rx"));
    expectFourDigits(1 / shape, 0.883873);
    expectFourDigits(Math.log(scale), 6.896693);
    expectFourDigits(coefficients["ecog.ps"], 0.385043);
    expectFourDigits(coefficients.rx, -0.528645);
    expectFourDigits(logLikelihood, -97.0845);
  });

  test("lung cancer, no covariates", () => {
    const { shape, scale, logLikelihood, standardErrors } = fitFlat(lung());
    expectFourDigits(shape, 1.31684);
    expectFourDigits(scale, 417.759);
    expectFourDigits(logLikelihood, -1153.8512);
    expectFourDigits(standardErrors.logScale, 0.0591359);
  });

  test("lung cancer by sex", () => {
    const { shape, scale, coefficients, logLikelihood, standardErrors } = fitFlat(lung("sex"));
    expectFourDigits(Math.log(scale), 5.4885838);
    expectFourDigits(coefficients.sex, -0.395578);
    expectFourDigits(standardErrors.coefficients.sex, 0.1276491);
    expectFourDigits(1 / shape, 0.755088);
    expectFourDigits(logLikelihood, -1148.65157);
  });

  test("lung cancer by performance status, age and sex", () => {
    const { shape, scale, coefficients, logLikelihood } = fitFlat(lung("ph.ecog", "age", "sex"));
    expectFourDigits(Math.log(scale), 6.27343525);
    expectFourDigits(coefficients["ph.ecog"], 0.3396381);
    expectFourDigits(coefficients.age, 0.00747544);
    expectFourDigits(coefficients.sex, -0.40109054);
    expectFourDigits(1 / shape, 0.731109);
    expectFourDigits(logLikelihood, -1132.4387);
  });

  test("leukaemia by maintenance", () => {
    const { shape, scale, coefficients, logLikelihood, standardErrors } = fitFlat(aml());
    expectFourDigits(Math.log(scale), 4.109055);
    expectFourDigits(coefficients.nonmaintained, 0.929342);
    expectFourDigits(standardErrors.coefficients.nonmaintained, 0.382502);
    expectFourDigits(1 / shape, 0.790954);
    expectFourDigits(logLikelihood, -80.5216);
  });

  // Abernethy 1983; Meeker and Escobar 1998, ch. 8: shape 2.035, scale 11,792 h, B10 3,903 h
  // (published values from memory; the fit of the data in R gives 2.0353 and 11,792).
  test("bearing cages: six failures among 1,703 engines", () => {
    const { shape, scale, logLikelihood } = fitFlat(bearingCage());
    expectFourDigits(shape, 2.0353);
    expectFourDigits(scale, 11792.2);
    expectFourDigits(logLikelihood, -76.4369);
    expect(scale * (-Math.log(0.9)) ** (1 / shape)).toBeCloseTo(3903, -1);
  });

  // Meeker and Escobar 1998: location 10.23 and spread 0.3164 of ln km (from memory).
  test("shock absorbers", () => {
    const { shape, scale } = fitFlat(shockAbsorber());
    expectFourDigits(shape, 3.1605);
    expectFourDigits(scale, 27718.7);
    expect(Math.log(scale)).toBeCloseTo(10.23, 2);
    expect(1 / shape).toBeCloseTo(0.3164, 4);
  });

  // Lieblein and Zelen 1956; textbook fit 2.102 and 81.88 (from memory).
  test("ball bearings, all failed", () => {
    const { shape, scale, logLikelihood } = fitFlat(ballBearings());
    expectFourDigits(shape, 2.1021);
    expectFourDigits(scale, 81.878);
    expectFourDigits(logLikelihood, -113.6913);
  });

  // Interval-censored: survreg with type "interval2" of the data of Finkelstein and Wolfe 1985.
  test("breast retraction, known to brackets", () => {
    const { shape, scale, coefficients, logLikelihood, standardErrors } = fitFlat(breastCosmesis());
    expectFourDigits(shape, 1.677974);
    expectFourDigits(scale, 85.93868);
    expectFourDigits(coefficients.treat, 0.5664019);
    expectFourDigits(standardErrors.coefficients.treat, 0.1677915);
    expectFourDigits(standardErrors.logShape, 0.1172474);
    expectFourDigits(logLikelihood, -149.756974);
  });

  // Left-truncated: the likelihood written out in R and maximised by optim (survival-fit.R).
  test("a retirement home, ages at entry and exit", () => {
    const { shape, scale, coefficients, logLikelihood, standardErrors } = fitFlat(channing());
    expectFourDigits(shape, 8.81794);
    expectFourDigits(scale, 84.36012);
    expect(coefficients.woman).toBeCloseTo(-0.039535, 5);
    expectFourDigits(logLikelihood, -646.178473);
    expect(standardErrors.logShape).toBeCloseTo(0.11115, 4);
    expect(standardErrors.coefficients.woman).toBeCloseTo(0.01998, 4);
  });
});

describe("Kaplan-Meier curves equal published tables to six digits", () => {
  const curve = (observations: readonly Observation[]) =>
    fitFlat(observations.map(({ x, ...rest }) => rest)).kaplanMeier;

  // Miller, Survival Analysis (1981), the same table in the R package survival (`aml`).
  test("leukaemia, maintained", () => {
    const steps = curve(aml().filter(({ x }) => x?.nonmaintained === 0));
    expect(steps.map(({ t }) => t)).toEqual([9, 13, 18, 23, 31, 34, 48]);
    expect(steps.map(({ atRisk }) => atRisk)).toEqual([11, 10, 8, 7, 5, 4, 2]);
    const survival = [0.909091, 0.818182, 0.715909, 0.613636, 0.490909, 0.368182, 0.184091];
    const errors = [0.086678, 0.116291, 0.139665, 0.152632, 0.164193, 0.162669, 0.153493];
    steps.forEach((step, i) => {
      expect(step.survival).toBeCloseTo(survival[i], 6);
      expect(step.standardError).toBeCloseTo(errors[i], 6);
    });
  });

  test("leukaemia, not maintained: two failures at one time, and the end at zero", () => {
    const steps = curve(aml().filter(({ x }) => x?.nonmaintained === 1));
    const survival = [
      0.833333, 0.666667, 0.583333, 0.486111, 0.388889, 0.291667, 0.194444, 0.097222, 0,
    ];
    expect(steps.map(({ t }) => t)).toEqual([5, 8, 12, 23, 27, 30, 33, 43, 45]);
    expect(steps[0].events).toBe(2);
    steps.forEach((step, i) => {
      expect(step.survival).toBeCloseTo(survival[i], 6);
    });
    expect(steps[8].standardError).toBeNull();
  });

  test("ovarian cancer", () => {
    const steps = curve(ovarian());
    const at = (t: number) => steps.find((step) => step.t === t);
    expect(at(59)?.survival).toBeCloseTo(0.961538, 6);
    expect(at(365)?.survival).toBeCloseTo(0.730769, 6);
    expect(at(431)?.survival).toBeCloseTo(0.687783, 6);
    expect(at(475)?.survival).toBeCloseTo(0.596078, 6);
    expect(at(638)?.survival).toBeCloseTo(0.496732, 6);
    expect(at(638)?.standardError).toBeCloseTo(0.10510266, 7);
  });

  // survfit of R with Surv(entry, exit, death), from the age of 68 on (survival-fit.R). Below it
  // too few residents are watched for the curve to mean anything.
  test("women of the retirement home, watched from their entry on", () => {
    const women = channing().filter(({ x, exit = 0 }) => x?.woman === 1 && exit >= 68);
    const steps = curve(women.map(({ entry = 0, ...rest }) => ({ ...rest, entry })));
    const at = (age: number) => steps.findLast(({ t }) => t <= age);
    expect(at(75)?.survival).toBeCloseTo(0.864933338884, 9);
    expect(at(80)?.survival).toBeCloseTo(0.740807989984, 9);
    expect(at(85)?.survival).toBeCloseTo(0.500420352368, 9);
    expect(at(90)?.survival).toBeCloseTo(0.293994766965, 9);
    expect(at(90)?.standardError).toBeCloseTo(0.0393040891759, 9);
  });
});

const hasR = spawnSync("Rscript", ["-e", "library(survival)"]).status === 0;

describe("an independent implementation on this machine", () => {
  test.skipIf(!hasR)(
    hasR
      ? "R agrees with every fit to six digits"
      : "R agrees with every fit (skipped: Rscript with the package survival is not installed)",
    () => {
      const script = fileURLToPath(new URL("survival-fit.R", import.meta.url));
      const printed = execFileSync("Rscript", [script, SURVIVAL_DATA_FOLDER], { encoding: "utf8" });
      const values = new Map(
        printed
          .trim()
          .split("\n")
          .map((line) => line.trim().split(/\s+/) as [string, string]),
      );
      const compare = (name: string, observations: readonly Observation[], digits = 2e-6) => {
        const ours = fitFlat(observations);
        const check = (what: string, value: number) =>
          expect(
            Math.abs(value / Number(values.get(`${name}.${what}`)) - 1),
            `${name}.${what}`,
          ).toBeLessThan(digits);
        check("shape", ours.shape);
        check("scale", ours.scale);
        check("logLikelihood", ours.logLikelihood);
        // Standard errors of optim come from finite differences.
        if (name === "channing") return;
        check("seLogShape", ours.standardErrors.logShape);
        check("seLogScale", ours.standardErrors.logScale);
        for (const [covariate, value] of Object.entries(ours.coefficients)) {
          check(covariate, value);
          check(`se.${covariate}`, ours.standardErrors.coefficients[covariate]);
        }
      };
      compare("ovarian", ovarian());
      compare("ovarian2", ovarian("ecog.ps", "rx"));
      compare("lung", lung());
      compare("lungSex", lung("sex"));
      compare("lung3", lung("ph.ecog", "age", "sex"));
      compare("aml", aml());
      compare("bearing", bearingCage());
      compare("shock", shockAbsorber());
      compare("balls", ballBearings());
      compare("cosmesis", breastCosmesis());
      compare("channing", channing(), 1e-5);
    },
  );
});
