import { z } from "zod";
import { failure, type Outcome, success } from "@/lib/core/shared/outcome";
import { parseWith } from "@/lib/core/shared/validation";
import {
  type BuildingEvent,
  findProblemFaults,
  type PlanAssignment,
  type PlanPrices,
  type PlanProblem,
  type PlanStatus,
} from "./problem";
import { SOLVER_NAMES, solverNamed } from "./solvers/choose-solver";

const finite = z.number("must be a number");
const atLeastZero = finite.min(0, "must be zero or more");
const cents = z.int("must be a whole number of cents");
const centsAtLeastZero = cents.min(0, "must be zero or more");
const name = z.string().min(1, "must not be empty");

/** What `compute -- plan` reads; docs/methods/planning.md explains the fields. */
export const planInputSchema = z.strictObject({
  periods: z
    .array(
      z.strictObject({
        id: name,
        budgetYear: name,
        discount: finite.positive("must be above zero"),
      }),
    )
    .min(1, "at least one period is needed"),
  budgets: z.record(
    z.string(),
    z.strictObject({
      cents,
      carryOver: finite.min(0, "must be from 0 to 1").max(1, "must be from 0 to 1").default(0),
    }),
  ),
  crewHours: z.record(z.string(), finite).default({}),
  buildings: z.array(
    z.strictObject({
      id: name,
      headroom: atLeastZero.nullable(),
      upgrade: z.strictObject({ cents: centsAtLeastZero, adds: atLeastZero }).nullable(),
      mobilisationCents: centsAtLeastZero,
    }),
  ),
  heaters: z.array(
    z.strictObject({
      id: name,
      building: name,
      neverCost: finite,
      choices: z.array(
        z.strictObject({
          option: name,
          period: name,
          cost: finite,
          capitalCents: centsAtLeastZero,
          hours: atLeastZero,
          circuit: atLeastZero,
          kg: finite,
        }),
      ),
      neverKg: finite,
      lock: z
        .union([z.literal("never"), z.strictObject({ option: name, period: name })], {
          error: 'must be "never" or an option and a period',
        })
        .optional(),
    }),
  ),
  emissionCapKg: finite.optional(),
  solver: z.enum(SOLVER_NAMES).default("auto"),
  gap: atLeastZero.default(0.001),
  seconds: finite.positive("must be above zero").default(60),
  seed: z.int().min(0).default(1),
});

export type PlanOutput = {
  readonly status: PlanStatus;
  readonly objective: number | null;
  readonly lowerBound: number | null;
  readonly gap: number | null;
  readonly seconds: number;
  readonly solver: string;
  readonly assignments: readonly PlanAssignment[];
  readonly upgrades: readonly BuildingEvent[];
  readonly mobilisations: readonly BuildingEvent[];
  readonly prices: PlanPrices;
  readonly infeasibility: readonly string[];
};

/**
 * The planner behind `compute -- plan`: JSON in, JSON out.
 *
 * Blocks its thread for up to `seconds` and may overrun them; a caller that must answer in time runs it
 * in a worker thread and ends that (see `solveExactly`).
 *
 * @param nowSeconds the caller's clock, read only to report and to stop.
 */
export async function computePlan(
  input: unknown,
  nowSeconds: () => number = () => performance.now() / 1000,
): Promise<Outcome<PlanOutput>> {
  const parsed = parseWith(planInputSchema, input);
  if (!parsed.ok) return parsed;
  const { solver, gap, seconds, seed } = parsed.value;
  const problem = problemFromInput(parsed.value);
  const faults = findProblemFaults(problem);
  if (faults.length > 0) return failure(...faults);

  const begin = nowSeconds();
  const elapsedSeconds = () => nowSeconds() - begin;
  const solution = await solverNamed(solver)(problem, { gap, seconds, seed, elapsedSeconds });
  return success({
    status: solution.status,
    objective: solution.objectiveCents,
    lowerBound: solution.lowerBoundCents,
    gap: solution.gap,
    seconds: elapsedSeconds(),
    solver: solution.solver,
    assignments: solution.assignments,
    upgrades: solution.upgrades,
    mobilisations: solution.mobilisations,
    prices: solution.prices,
    infeasibility: solution.infeasibility,
  });
}

/** The problem that an input of {@link planInputSchema} states. */
export function problemFromInput(input: z.output<typeof planInputSchema>): PlanProblem {
  return {
    periods: input.periods,
    budgets: input.budgets,
    crewHours: input.crewHours,
    buildings: input.buildings,
    heaters: input.heaters.map((heater) => ({
      id: heater.id,
      building: heater.building,
      never: { costCents: heater.neverCost, kg: heater.neverKg },
      choices: heater.choices.map(({ cost, ...choice }) => ({ ...choice, costCents: cost })),
      lock: heater.lock ?? null,
    })),
    emissionCap:
      input.emissionCapKg === undefined
        ? null
        : { kg: input.emissionCapKg, excessCentsPerKg: null },
  };
}
