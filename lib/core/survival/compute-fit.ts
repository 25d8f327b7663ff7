import { z } from "zod";
import { failure, type Outcome, type Problem, success } from "@/lib/core/shared/outcome";
import { parseWith } from "@/lib/core/shared/validation";
import { fitLifetimes } from "./fit-lifetimes";
import { type KaplanMeierStep, kaplanMeier } from "./kaplan-meier";
import { lifetimeColumns, type ObservedLifetime } from "./lifetimes";
import { publishedPrior } from "./published-prior";

const ageYears = z.number().nonnegative({
  error: ({ input }) => `an age must be zero or more, got ${input}`,
});

/** Input of the command `survival-fit`: lifetimes as they were observed, ages in years. */
export const survivalFitSchema = z.strictObject({
  observations: z.array(
    z.strictObject({
      entry: ageYears.default(0),
      exit: ageYears.optional(),
      exitRange: z.tuple([ageYears, ageYears]).optional(),
      event: z.boolean(),
      x: z.record(z.string(), z.number()).default({}),
    }),
  ),
  prior: z.enum(["flat", "published"]),
});

type Observation = z.output<typeof survivalFitSchema>["observations"][number];

export type SurvivalFitOutput = {
  readonly shape: number;
  readonly scale: number;
  readonly coefficients: Readonly<Record<string, number>>;
  readonly logLikelihood: number;
  readonly standardErrors: {
    readonly logShape: number;
    readonly logScale: number;
    readonly coefficients: Readonly<Record<string, number>>;
  };
  /** A failure known to a bracket counts in its middle here; the fit itself uses the bracket. */
  readonly kaplanMeier: readonly KaplanMeierStep[];
  readonly converged: boolean;
};

/**
 * Fits a Weibull law of wear to observed lifetimes and gives the Kaplan-Meier curve beside it.
 * Every observation that cannot be is named, and so is every parameter that the observations
 * cannot settle.
 */
export function computeSurvivalFit(input: unknown): Outcome<SurvivalFitOutput> {
  const parsed = parseWith(survivalFitSchema, input);
  if (!parsed.ok) return parsed;
  const { observations, prior } = parsed.value;
  const covariates = Object.keys(observations[0]?.x ?? {});
  const problems = observations.flatMap((observation, i) => [
    ...ageProblems(observation, `observations[${i}]`),
    ...covariateProblems(observation, covariates, `observations[${i}].x`),
  ]);
  if (problems.length > 0) return failure(...problems);

  const lifetimes = observations.map((observation) => toLifetime(observation, covariates));
  const columns = lifetimeColumns(covariates, lifetimes);
  const fit = fitLifetimes(columns, prior === "flat" ? null : publishedPrior(covariates));
  if (!fit.ok) return fit;

  const { shape, scale, coefficients, logLikelihood, covariance, converged } = fit.value;
  const size = covariates.length + 2;
  const standardError = (i: number) => Math.sqrt(covariance[i * size + i]);
  return success({
    shape,
    scale,
    coefficients: named(covariates, (j) => coefficients[j]),
    logLikelihood,
    standardErrors: {
      logShape: standardError(0),
      logScale: standardError(1),
      coefficients: named(covariates, (j) => standardError(j + 2)),
    },
    kaplanMeier: kaplanMeier(
      lifetimes.map(({ entry, lower, upper, outcome }) => ({
        entry,
        exit: outcome === "failed-within" ? (lower + upper) / 2 : lower,
        failed: outcome !== "alive",
      })),
    ),
    converged,
  });
}

function named(names: readonly string[], value: (j: number) => number): Record<string, number> {
  return Object.fromEntries(names.map((name, j) => [name, value(j)]));
}

function ageProblems(
  { entry, exit, exitRange, event }: Observation,
  path: string,
): readonly Problem[] {
  if ((exit === undefined) === (exitRange === undefined)) {
    return [{ path: `${path}.exit`, message: "give either exit or exitRange" }];
  }
  if (exitRange && !event) {
    return [
      {
        path: `${path}.exitRange`,
        message:
          "a bracket is for a failure; one that has not failed has one exit, its last known age",
      },
    ];
  }
  if (exitRange && exitRange[1] < exitRange[0]) {
    return [
      {
        path: `${path}.exitRange`,
        message: `exitRange must rise, got ${exitRange[0]} to ${exitRange[1]}`,
      },
    ];
  }
  const first = exit ?? (exitRange as readonly [number, number])[0];
  const last = exit ?? (exitRange as readonly [number, number])[1];
  // One still alive may have entered today; a failure needs time to have been watched.
  if (first < entry || (event && last <= entry)) {
    return [
      {
        path: `${path}.${exit === undefined ? "exitRange" : "exit"}`,
        message: `the exit (${first}) must be after the entry (${entry}): swap them, or leave the observation out`,
      },
    ];
  }
  if (event && last === 0) {
    return [{ path: `${path}.exit`, message: "a failure at age 0 has no density; give its age" }];
  }
  return [];
}

/** Every observation must have the covariates of the first: one left out is not taken as zero. */
function covariateProblems(
  { x }: Observation,
  covariates: readonly string[],
  path: string,
): readonly Problem[] {
  const missing = covariates
    .filter((name) => !Object.hasOwn(x, name))
    .map((name) => ({
      path: `${path}.${name}`,
      message: `"${name}" is missing here but given in the first observation; give it everywhere or nowhere`,
    }));
  const extra = Object.keys(x)
    .filter((name) => !covariates.includes(name))
    .map((name) => ({
      path: `${path}.${name}`,
      message: `"${name}" is missing in the first observation; give it everywhere or nowhere`,
    }));
  return [...missing, ...extra];
}

function toLifetime(
  { entry, exit, exitRange, event, x }: Observation,
  covariates: readonly string[],
): ObservedLifetime {
  const values = covariates.map((name) => x[name]);
  if (exitRange && exitRange[0] < exitRange[1]) {
    const [lower, upper] = exitRange;
    return { entry, lower, upper, outcome: "failed-within", x: values };
  }
  const at = exit ?? (exitRange as readonly [number, number])[0];
  return { entry, lower: at, upper: at, outcome: event ? "failed" : "alive", x: values };
}
