import { formatCents } from "@/lib/core/shared/money";
import type {
  PlanAssignment,
  PlanHeater,
  PlanLock,
  PlanProblem,
  PlanSolution,
  PlanSolver,
  SolveOptions,
} from "./problem";

/** A change to one heater's line that someone thinks of. */
export type LineChange =
  /** This line and no other. */
  | { readonly heater: string; readonly pin: PlanLock }
  /** Any line but this one. */
  | { readonly heater: string; readonly forbid: PlanLock };

/** What a change would cost before it is made. */
export type ChangePrice = {
  readonly solution: PlanSolution;
  /** Plan with the change less the plan without it, in present-value cents; null when there is none. */
  readonly costCents: number | null;
  /** The change costs at least this: the new bound less the old plan; null when nothing is proven. */
  readonly leastCents: number | null;
  readonly moved: readonly MovedLine[];
};

export type MovedLine = {
  readonly heater: string;
  readonly before: PlanAssignment | null;
  readonly after: PlanAssignment | null;
};

/**
 * The problem with a change made.
 *
 * @throws {RangeError} when there is no such heater or no such line to pin
 */
export function withChange(problem: PlanProblem, change: LineChange): PlanProblem {
  let found = false;
  const heaters = problem.heaters.map((heater) => {
    if (heater.id !== change.heater) return heater;
    found = true;
    return "pin" in change ? pinned(heater, change.pin) : withoutLine(heater, change.forbid);
  });
  if (!found) throw new RangeError(`there is no heater "${change.heater}"`);
  return { ...problem, heaters };
}

/**
 * The price of a change: the plan is solved anew with it, beginning from the plan as it stands, whose
 * other lines therefore move only where that pays.
 */
export async function priceChange(
  problem: PlanProblem,
  plan: PlanSolution,
  change: LineChange,
  solve: PlanSolver,
  options: SolveOptions,
): Promise<ChangePrice> {
  const changed = withChange(problem, change);
  const start = plan.assignments.map((line) =>
    line.heater === change.heater && "pin" in change ? lineOf(line.heater, change.pin) : line,
  );
  const solution = await solve(changed, { ...options, start });
  const difference = (cents: number | null) =>
    cents === null || plan.objectiveCents === null ? null : cents - plan.objectiveCents;
  return {
    solution,
    costCents: difference(solution.objectiveCents),
    leastCents: difference(solution.lowerBoundCents),
    moved:
      solution.objectiveCents === null ? [] : movedLines(plan.assignments, solution.assignments),
  };
}

/** A plan made anew after something changed, moving no more than pays. */
export type Replan = {
  readonly solution: PlanSolution;
  readonly moved: readonly MovedLine[];
  /** Present-value cents of the penalties in the solution's objective: not real money. */
  readonly penaltyCents: number;
};

/**
 * Plans anew around an earlier plan: lines that are committed are locks of the problem; every other
 * line that differs from the earlier plan costs a penalty, so that small gains do not turn a schedule
 * over that people have been told of.
 *
 * @param penaltyCents present-value cents that a moved line must at least save
 * @throws {RangeError} for a penalty below zero
 */
export async function replan(
  problem: PlanProblem,
  earlier: readonly PlanAssignment[],
  penaltyCents: number,
  solve: PlanSolver,
  options: SolveOptions,
): Promise<Replan> {
  const solution = await solve(withMovePenalty(problem, earlier, penaltyCents), {
    ...options,
    start: earlier,
  });
  const known = new Map(earlier.map((line) => [line.heater, line]));
  const moved = solution.objectiveCents === null ? [] : movedLines(earlier, solution.assignments);
  const penalised = moved.filter(({ heater, after }) => known.has(heater) && after !== null);
  return { solution, moved, penaltyCents: penaltyCents * penalised.length };
}

/** The problem in which every line that differs from an earlier plan costs more. */
export function withMovePenalty(
  problem: PlanProblem,
  earlier: readonly PlanAssignment[],
  penaltyCents: number,
): PlanProblem {
  if (!(penaltyCents >= 0)) {
    throw new RangeError(`penaltyCents must be zero or more, got ${penaltyCents}`);
  }
  const known = new Map(earlier.map((line) => [line.heater, line]));
  return {
    ...problem,
    heaters: problem.heaters.map((heater) => {
      const line = known.get(heater.id);
      if (!line) return heater;
      const kept = (lock: PlanLock) => sameLine(line, lineOf(heater.id, lock));
      return {
        ...heater,
        never:
          heater.never && !kept("never")
            ? { ...heater.never, costCents: heater.never.costCents + penaltyCents }
            : heater.never,
        choices: heater.choices.map((choice) =>
          kept(choice) ? choice : { ...choice, costCents: choice.costCents + penaltyCents },
        ),
      };
    }),
  };
}

/** Lines that differ between two plans, heaters that only one of them has included. */
export function movedLines(
  before: readonly PlanAssignment[],
  after: readonly PlanAssignment[],
): readonly MovedLine[] {
  const old = new Map(before.map((line) => [line.heater, line]));
  const moved: MovedLine[] = [];
  for (const line of after) {
    const was = old.get(line.heater) ?? null;
    old.delete(line.heater);
    if (was === null || !sameLine(was, line)) {
      moved.push({ heater: line.heater, before: was, after: line });
    }
  }
  for (const line of old.values()) moved.push({ heater: line.heater, before: line, after: null });
  return moved;
}

/** Why a line moved, as far as the problem itself says: gone, locked, no longer possible, or cheaper. */
export function explainMove(problem: PlanProblem, move: MovedLine): string {
  const heater = problem.heaters.find(({ id }) => id === move.heater);
  if (!heater || move.after === null) return `${move.heater} is no longer there to be planned.`;
  const to = inWords(move.after);
  if (move.before === null) return `${move.heater} is new in the plan: ${to}.`;
  const from = inWords(move.before);
  if (heater.lock !== null) return `${move.heater} moved from ${from} to ${to}: it is committed.`;
  const costBefore = costOfLine(heater, move.before);
  const costAfter = costOfLine(heater, move.after);
  if (costBefore === null || costAfter === null) {
    return `${move.heater} moved from ${from} to ${to}: ${from} is no longer possible.`;
  }
  const difference = formatCents(Math.round(Math.abs(costAfter - costBefore)), { whole: true });
  return costAfter < costBefore
    ? `${move.heater} moved from ${from} to ${to}: it saves ${difference} at this heater.`
    : `${move.heater} moved from ${from} to ${to}: it costs ${difference} more at this heater and ` +
        "makes room for what saves more elsewhere or keeps a limit.";
}

function pinned(heater: PlanHeater, lock: PlanLock): PlanHeater {
  if (costOfLine(heater, lineOf(heater.id, lock)) === null) {
    throw new RangeError(`heater "${heater.id}" has no line ${JSON.stringify(lock)} to pin`);
  }
  return { ...heater, lock };
}

function withoutLine(heater: PlanHeater, line: PlanLock): PlanHeater {
  const same = (lock: PlanLock) => sameLine(lineOf(heater.id, lock), lineOf(heater.id, line));
  return {
    ...heater,
    lock: heater.lock !== null && same(heater.lock) ? null : heater.lock,
    never: line === "never" ? null : heater.never,
    choices: heater.choices.filter((choice) => !same(choice)),
  };
}

function lineOf(heater: string, lock: PlanLock): PlanAssignment {
  return lock === "never"
    ? { heater, never: true }
    : { heater, option: lock.option, period: lock.period };
}

function sameLine(a: PlanAssignment, b: PlanAssignment): boolean {
  if ("never" in a || "never" in b) return "never" in a && "never" in b;
  return a.option === b.option && a.period === b.period;
}

function costOfLine(heater: PlanHeater, line: PlanAssignment): number | null {
  if ("never" in line) return heater.never?.costCents ?? null;
  const choice = heater.choices.find(
    ({ option, period }) => option === line.option && period === line.period,
  );
  return choice?.costCents ?? null;
}

function inWords(line: PlanAssignment): string {
  return "never" in line ? "no swap" : `${line.option} in ${line.period}`;
}
