import { z } from "zod";
import { failure, type Outcome, type Problem, success } from "@/lib/core/shared/outcome";
import { parseWith } from "@/lib/core/shared/validation";
import { gaussLegendre } from "@/lib/core/stats/quadrature";
import { cumulativeHazard, medianRemaining, type WeibullLifetime } from "./weibull";

const covariates = z.record(z.string(), z.number());

const age = z.number().nonnegative({
  error: ({ input }) => `an age must be zero or more, got ${input}`,
});

/** Input of the command `survival-predict`: a Weibull law and heaters that are alive today. */
export const survivalPredictSchema = z.strictObject({
  shape: z.number().positive(),
  scale: z.number().positive(),
  coefficients: covariates,
  heaters: z.array(
    z
      .strictObject({
        id: z.string(),
        ageYears: age.optional(),
        ageRange: z.tuple([age, age]).optional(),
        x: covariates.default({}),
      })
      .superRefine((heater, context) => {
        if ((heater.ageYears === undefined) === (heater.ageRange === undefined)) {
          context.addIssue({
            code: "custom",
            path: ["ageYears"],
            message: "give either ageYears or ageRange",
          });
        }
        if (heater.ageRange && heater.ageRange[0] > heater.ageRange[1]) {
          context.addIssue({
            code: "custom",
            path: ["ageRange"],
            message: `ageRange must rise, got ${heater.ageRange[0]} to ${heater.ageRange[1]}`,
          });
        }
      }),
  ),
  horizonYears: z.array(z.number().nonnegative()),
});

export type SurvivalPredictOutput = {
  readonly heaters: readonly {
    readonly id: string;
    /** Chance of failing within each horizon, given alive now. */
    readonly failureProbability: readonly number[];
    /** Years until half of such heaters have failed. */
    readonly medianRemainingYears: number;
  }[];
};

/** Points of the quadrature over an age range. */
const RANGE_POINTS = 32;

/**
 * Failure probabilities for a stated Weibull law. Wear runs at exp(Σ coefficient · x) years per
 * year; an age range is integrated, every age in it equally likely beforehand and weighted by the
 * chance of having reached it.
 */
export function computeSurvivalPredict(input: unknown): Outcome<SurvivalPredictOutput> {
  const parsed = parseWith(survivalPredictSchema, input);
  if (!parsed.ok) return parsed;
  const { shape, scale, coefficients, heaters, horizonYears } = parsed.value;
  const problems = heaters.flatMap(({ x }, i) => covariateProblems(coefficients, x, i));
  if (problems.length > 0) return failure(...problems);

  const lifetime = { shape, scaleYears: scale };
  return success({
    heaters: heaters.map(({ id, ageYears, ageRange, x }) => {
      const rate = Math.exp(
        Object.entries(coefficients).reduce((sum, [name, value]) => sum + value * x[name], 0),
      );
      const [youngest, oldest] = ageRange ?? [ageYears ?? 0, ageYears ?? 0];
      const wear = wearOfAges(lifetime, youngest * rate, oldest * rate);
      return {
        id,
        failureProbability: horizonYears.map((years) =>
          failureWithin(lifetime, wear, years * rate),
        ),
        medianRemainingYears: medianOf(lifetime, wear) / rate,
      };
    }),
  });
}

/** Names on either side that the other does not have: a covariate left out is never taken as zero. */
function covariateProblems(
  coefficients: Readonly<Record<string, number>>,
  x: Readonly<Record<string, number>>,
  heater: number,
): readonly Problem[] {
  const problems: Problem[] = [];
  for (const name of Object.keys(x)) {
    if (!Object.hasOwn(coefficients, name)) {
      problems.push({
        path: `heaters[${heater}].x.${name}`,
        message: `"${name}" has no coefficient`,
      });
    }
  }
  for (const name of Object.keys(coefficients)) {
    if (!Object.hasOwn(x, name)) {
      problems.push({
        path: `heaters[${heater}].x.${name}`,
        message: `"${name}" is missing; 0 is the reference`,
      });
    }
  }
  return problems;
}

type Wear = { readonly exposures: readonly number[]; readonly weights: readonly number[] };

function wearOfAges(lifetime: WeibullLifetime, youngest: number, oldest: number): Wear {
  const rule = gaussLegendre(youngest === oldest ? 1 : RANGE_POINTS);
  const exposures = Array.from(rule.points, (point) => youngest + point * (oldest - youngest));
  const least = cumulativeHazard(lifetime, youngest);
  const alive = exposures.map(
    (exposure, i) => rule.weights[i] * Math.exp(least - cumulativeHazard(lifetime, exposure)),
  );
  const total = alive.reduce((sum, weight) => sum + weight, 0);
  return { exposures, weights: alive.map((weight) => weight / total) };
}

function failureWithin(lifetime: WeibullLifetime, wear: Wear, added: number): number {
  let probability = 0;
  wear.exposures.forEach((exposure, i) => {
    const gained =
      cumulativeHazard(lifetime, exposure + added) - cumulativeHazard(lifetime, exposure);
    probability -= wear.weights[i] * Math.expm1(-gained);
  });
  return Math.min(1, probability);
}

function medianOf(lifetime: WeibullLifetime, wear: Wear): number {
  if (wear.exposures.length === 1) return medianRemaining(lifetime, wear.exposures[0]);
  // The median of a mixture lies between the medians of its parts.
  const medians = wear.exposures.map((exposure) => medianRemaining(lifetime, exposure));
  let low = Math.min(...medians);
  let high = Math.max(...medians);
  while (high - low > 1e-12 * high) {
    const middle = (low + high) / 2;
    if (middle === low || middle === high) break;
    if (failureWithin(lifetime, wear, middle) < 0.5) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}
