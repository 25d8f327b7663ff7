import { checkPlan } from "@/lib/core/planning/check-plan";
import { explainStacks } from "@/lib/core/planning/explain-infeasibility";
import {
  choiceKey,
  familyOf,
  OPTIMAL_GAP,
  type PlanAssignment,
  type PlanChoice,
  type PlanHeater,
  type PlanProblem,
  type PlanSolution,
  type PlanSolver,
  relativeGap,
} from "@/lib/core/planning/problem";
import { solutionWithoutPlan } from "./solution";

/** A problem in which every stack is one heater, with the ways from its plans to the real ones and back. */
type MergedProblem = {
  readonly problem: PlanProblem;
  /** Lines of the real heaters, in their order. */
  readonly expand: (lines: readonly PlanAssignment[]) => readonly PlanAssignment[];
  /** Lines of the merged problem; a stack whose heaters do not agree gets none. */
  readonly contract: (lines: readonly PlanAssignment[]) => readonly PlanAssignment[];
};

/**
 * A solver that keeps stacks together, from one that does not know them: a stack becomes one heater
 * whose choices are the families and periods that all of its heaters have, with the sums of what theirs
 * cost and use. Nothing is lost by it, so that the bound and the proof of optimality stay what they are.
 * The plan is checked and costed anew on the problem with the stacks.
 */
export function keepingStacks(solver: PlanSolver, name: string): PlanSolver {
  return async (problem, options) => {
    if (!problem.stacks || problem.stacks.length === 0) return solver(problem, options);
    const stated = explainStacks(problem);
    if (stated.length > 0) return solutionWithoutPlan("infeasible", name, stated);
    const merged = mergeStacks(problem);
    const { start, ...rest } = options;
    const solution = await solver(merged.problem, {
      ...rest,
      ...(start ? { start: merged.contract(start) } : {}),
    });
    if (solution.objectiveCents === null) return solution;
    return expandedSolution(problem, solution, merged.expand(solution.assignments));
  };
}

function expandedSolution(
  problem: PlanProblem,
  solution: PlanSolution,
  assignments: readonly PlanAssignment[],
): PlanSolution {
  const check = checkPlan(problem, { ...solution, assignments });
  if (check.violations.length > 0) {
    return {
      ...solutionWithoutPlan("not-found", solution.solver, [
        "The plan that was found did not pass the check of the rules:",
        ...check.violations,
      ]),
      lowerBoundCents: solution.lowerBoundCents,
      prices: solution.prices,
    };
  }
  // Sums in another order differ in the last digits.
  const { objectiveCents } = check;
  const bound =
    solution.lowerBoundCents === null ? null : Math.min(solution.lowerBoundCents, objectiveCents);
  const gap = bound === null ? null : relativeGap(objectiveCents, bound);
  return {
    ...solution,
    status: gap !== null && gap <= OPTIMAL_GAP ? "optimal" : "feasible",
    objectiveCents,
    lowerBoundCents: bound,
    gap,
    assignments,
  };
}

/** @throws {RangeError} for a stack that `findProblemFaults` finds fault with. */
export function mergeStacks(problem: PlanProblem): MergedProblem {
  const heaters = new Map(problem.heaters.map((heater) => [heater.id, heater]));
  const stacks = new Map<
    string,
    { readonly heater: PlanHeater; readonly members: readonly PlanHeater[] }
  >();
  const stackOf = new Map<string, string>();
  for (const { id, heaters: names } of problem.stacks ?? []) {
    const members = names.map((name) => {
      const heater = heaters.get(name);
      if (!heater) throw new RangeError(`stack "${id}" names no heater with "${name}"`);
      stackOf.set(name, id);
      return heater;
    });
    stacks.set(id, { heater: mergedHeater(id, members), members });
  }
  // A stack stands where the first of its heaters stood.
  const seen = new Set<string>();
  const merged = problem.heaters.flatMap((heater) => {
    const id = stackOf.get(heater.id);
    if (id === undefined) return [heater];
    if (seen.has(id)) return [];
    seen.add(id);
    return [stacks.get(id)?.heater ?? heater];
  });
  const { stacks: _, ...rest } = problem;
  return {
    problem: { ...rest, heaters: merged },
    expand: (lines) => {
      const known = new Map(lines.map((line) => [line.heater, line]));
      return problem.heaters.flatMap((heater) => {
        const line = known.get(stackOf.get(heater.id) ?? heater.id);
        if (!line) return [];
        if (line.heater === heater.id) return [line];
        if ("never" in line) return [{ heater: heater.id, never: true }];
        const choice = choiceOf(heater, line.option, line.period);
        return choice ? [{ heater: heater.id, option: choice.option, period: choice.period }] : [];
      });
    },
    contract: (lines) => {
      const known = new Map(lines.map((line) => [line.heater, line]));
      return merged.flatMap((heater) => {
        const stack = stacks.get(heater.id);
        if (!stack) {
          const line = known.get(heater.id);
          return line ? [line] : [];
        }
        const ways = new Map<string, PlanAssignment>();
        for (const member of stack.members) {
          const line = known.get(member.id);
          if (!line) return [];
          if ("never" in line) ways.set("", { heater: heater.id, never: true });
          else {
            const choice = member.choices.find(
              ({ option, period }) => option === line.option && period === line.period,
            );
            if (!choice) return [];
            const option = familyOf(choice);
            ways.set(choiceKey(option, line.period), {
              heater: heater.id,
              option,
              period: line.period,
            });
          }
        }
        return ways.size === 1 ? [...ways.values()] : [];
      });
    },
  };
}

/** The one choice of a heater of a family in a period. */
function choiceOf(heater: PlanHeater, family: string, period: string): PlanChoice | undefined {
  return heater.choices.find((choice) => familyOf(choice) === family && choice.period === period);
}

/** Commitments of one heater bind them all. */
function mergedHeater(id: string, members: readonly PlanHeater[]): PlanHeater {
  const [first] = members;
  const mayBeLeft = members.every(
    ({ never, lock }) => never !== null && (lock === null || lock === "never"),
  );
  return {
    id,
    building: first.building,
    never: mayBeLeft
      ? {
          costCents: sumOf(members, ({ never }) => never?.costCents ?? 0),
          kg: sumOf(members, ({ never }) => never?.kg ?? 0),
        }
      : null,
    lock: null,
    choices: first.choices.flatMap((one) => {
      const family = familyOf(one);
      const parts: PlanChoice[] = [];
      for (const member of members) {
        const part = choiceOf(member, family, one.period);
        const { lock } = member;
        if (!part || lock === "never") return [];
        if (lock !== null && (lock.option !== part.option || lock.period !== part.period)) {
          return [];
        }
        parts.push(part);
      }
      return [
        {
          option: family,
          period: one.period,
          costCents: sumOf(parts, ({ costCents }) => costCents),
          capitalCents: sumOf(parts, ({ capitalCents }) => capitalCents),
          hours: sumOf(parts, ({ hours }) => hours),
          circuit: sumOf(parts, ({ circuit }) => circuit),
          kg: sumOf(parts, ({ kg }) => kg),
        },
      ];
    }),
  };
}

function sumOf<T>(items: readonly T[], value: (item: T) => number): number {
  return items.reduce((sum, item) => sum + value(item), 0);
}
