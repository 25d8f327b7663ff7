import loadHighs, { type Highs, type HighsCallbackMap } from "highs";
import {
  explainConflict,
  explainInfeasibility,
  explainUnreachableCap,
} from "@/lib/core/planning/explain-infeasibility";
import {
  budgetYearsOf,
  NO_PRICES,
  OPTIMAL_GAP,
  type PlanPrices,
  type PlanProblem,
  type PlanSolution,
  type PlanSolver,
  relativeGap,
  type SolveOptions,
} from "@/lib/core/planning/problem";
import {
  type ChosenArrays,
  type IndexedProblem,
  type ProblemArrays,
  toArrays,
} from "@/lib/core/planning/problem-arrays";
import {
  buildExactModel,
  chosenFromPoint,
  type ExactModel,
  pointFromChosen,
  type RowMeaning,
} from "./exact-model";
import { keepingStacks } from "./merge-stacks";
import { completeStart, emptySolution, solutionOf, solutionWithoutPlan } from "./solution";

/**
 * Simplex iterations that are spent before a gap that is only good enough is accepted: small problems
 * are solved to the end whatever gap was asked for. Counted in iterations, not seconds, so that the
 * same problem gives the same plan on any machine.
 */
const ITERATIONS_BEFORE_SETTLING = 20_000;

/**
 * The plan as a mixed-integer programme, solved by HiGHS in WebAssembly.
 *
 * For up to a few thousand heaters. The call blocks its thread and cannot be interrupted from outside
 * while the solver is in one of its own loops, its time limit may be overrun, and running out of its
 * 2 GB of memory aborts the module: callers run it in a worker thread of its own and end that thread
 * when the deadline has passed.
 *
 * @throws {RangeError} for a problem that `findProblemFaults` finds fault with.
 */
export const solveExactly: PlanSolver = keepingStacks(solveUnstacked, "exact");

async function solveUnstacked(problem: PlanProblem, options: SolveOptions): Promise<PlanSolution> {
  const stated = explainInfeasibility(problem);
  if (stated.length > 0) return solutionWithoutPlan("infeasible", "exact", stated);

  const indexed = toArrays(problem);
  const model = buildExactModel(indexed.arrays);
  if (model.columnCount === 0) return emptySolution("exact");
  const highs = await highsOnce();
  const relaxation = solveRelaxation(highs, model, indexed.arrays, problem, options);
  if (relaxation.kind === "infeasible") {
    return solutionWithoutPlan(
      "infeasible",
      "exact",
      relaxation.leastKg === null
        ? explainRows(problem, indexed, relaxation.rows)
        : [explainUnreachableCap(problem, relaxation.leastKg)],
    );
  }
  const prices = relaxation.kind === "solved" ? relaxation.prices : NO_PRICES;
  const knownBound = relaxation.kind === "solved" ? relaxation.boundCents : null;

  const start = options.start ? completeStart(problem, indexed, options.start) : null;
  const result = solveIntegers(highs, model, indexed.arrays, start, options);
  if (result.kind === "infeasible") {
    return solutionWithoutPlan("infeasible", "exact", [
      "The limits can be met only by parts of swaps; no plan of whole swaps keeps all of them.",
    ]);
  }
  return solutionOf(problem, indexed, {
    chosen: result.chosen,
    lowerBoundCents: largest(knownBound, result.boundCents),
    prices,
    solver: "exact",
  });
}

/**
 * The mixed-integer programme of some arrays, begun from a plan: what the decomposition leaves open.
 *
 * @param keep choices that may be chosen; the others are 0
 * @param nodes branch-and-bound nodes at most
 */
export async function solveArraysExactly(
  arrays: ProblemArrays,
  keep: Uint8Array,
  start: ChosenArrays | null,
  options: SolveOptions,
  nodes?: number,
): Promise<IntegerResult> {
  const model = buildExactModel(arrays, keep);
  return solveIntegers(await highsOnce(), model, arrays, start, options, nodes);
}

let loading: Promise<Highs> | null = null;

/** The solver is compiled once for a thread; it keeps nothing from one model to the next. */
function highsOnce(): Promise<Highs> {
  loading ??= loadHighs();
  return loading;
}

type Relaxation =
  | { readonly kind: "solved"; readonly boundCents: number; readonly prices: PlanPrices }
  | {
      readonly kind: "infeasible";
      /** What every plan emits at least, when that is why. */
      readonly leastKg: number | null;
      readonly rows: readonly RowMeaning[];
    }
  | { readonly kind: "stopped" };

/** Without whole numbers: its optimum is a lower bound, its row duals are the prices of the limits. */
function solveRelaxation(
  highs: Highs,
  model: ExactModel,
  arrays: ProblemArrays,
  problem: PlanProblem,
  options: SolveOptions,
): Relaxation {
  return highs.withModel(modelData(model, false), (solver) => {
    solver.options.set({
      output_flag: false,
      random_seed: options.seed % 2_147_483_648,
      time_limit: secondsLeft(options),
    });
    solver.run();
    const { modelStatus } = highs.constants;
    const status = solver.getModelStatus();
    if (status === modelStatus.infeasible || status === modelStatus.unboundedOrInfeasible) {
      const leastKg = leastEmissions(highs, model, arrays, options);
      if (leastKg !== null && leastKg > arrays.emissionCapKg) {
        return { kind: "infeasible", leastKg, rows: [] } as const;
      }
      // An irreducible set of conflicting rows, found through the elastic relaxation.
      solver.options.set({ iis_strategy: 2 + 4, time_limit: secondsLeft(options) });
      const iis = solver.getIis();
      return {
        kind: "infeasible",
        leastKg: null,
        rows: Array.from(iis.rowIndex, (row) => model.rows[row]),
      } as const;
    }
    if (status !== modelStatus.optimal) return { kind: "stopped" } as const;
    return {
      kind: "solved",
      boundCents: solver.getObjectiveValue() * 100,
      prices: pricesFromDuals(problem, model, solver.getSolution().rowDual),
    } as const;
  });
}

/** The least that a plan can emit with every other limit kept (a lower bound), or null when unknown. */
function leastEmissions(
  highs: Highs,
  model: ExactModel,
  arrays: ProblemArrays,
  options: SolveOptions,
): number | null {
  const row = model.rows.findIndex(({ kind }) => kind === "emission");
  if (row < 0) return null;
  const columnCost = new Float64Array(model.columnCount);
  model.columns.choice.forEach((column, j) => {
    if (column >= 0) columnCost[column] = arrays.kg[j];
  });
  model.columns.never.forEach((column, i) => {
    if (column >= 0) columnCost[column] = arrays.neverKg[i];
  });
  const rowUpper = model.rowUpper.slice();
  rowUpper[row] = Number.POSITIVE_INFINITY;
  return highs.withModel(modelData({ ...model, columnCost, rowUpper }, false), (solver) => {
    solver.options.set({ output_flag: false, time_limit: secondsLeft(options) });
    solver.run();
    return solver.getModelStatus() === highs.constants.modelStatus.optimal
      ? solver.getObjectiveValue()
      : null;
  });
}

export type IntegerResult =
  | { readonly kind: "infeasible" }
  | {
      readonly kind: "done";
      /** Null when the limit was reached before a plan was found. */
      readonly chosen: ChosenArrays | null;
      readonly boundCents: number | null;
      /** The search ended by itself. */
      readonly finished: boolean;
    };

function solveIntegers(
  highs: Highs,
  model: ExactModel,
  arrays: ProblemArrays,
  start: ChosenArrays | null,
  options: SolveOptions,
  nodes?: number,
): IntegerResult {
  return highs.withModel(modelData(model, true), (solver) => {
    solver.options.set({
      output_flag: false,
      random_seed: options.seed % 2_147_483_648,
      time_limit: secondsLeft(options),
      mip_rel_gap: Math.min(options.gap, OPTIMAL_GAP / 10),
      mip_abs_gap: 1e-6,
      mip_feasibility_tolerance: 1e-7,
      ...(nodes === undefined ? {} : { mip_max_nodes: nodes }),
    });
    if (start) solver.setSolution({ colValue: pointFromChosen(arrays, model, start) });
    const callbacks: HighsCallbackMap = {
      [highs.constants.callbackType.mipInterrupt]: (event) => {
        const { mip_dual_bound: bound, mip_primal_bound: best } = event.data;
        const iterations = Number(event.data.mip_total_lp_iterations ?? 0);
        const good =
          bound !== undefined &&
          best !== undefined &&
          Number.isFinite(best) &&
          relativeGap(best * 100, bound * 100) <= options.gap;
        if (options.shouldStop?.() || (good && iterations > ITERATIONS_BEFORE_SETTLING)) {
          event.interrupt();
        }
      },
      [highs.constants.callbackType.mipImprovingSolution]: (event) => {
        const { mip_dual_bound: bound, mip_primal_bound: best } = event.data;
        options.onProgress?.({
          stage: "exact",
          objectiveCents: best === undefined ? null : best * 100,
          lowerBoundCents: bound === undefined ? null : bound * 100,
        });
      },
    };
    solver.run(callbacks);
    const { modelStatus, solutionStatus } = highs.constants;
    if (solver.getModelStatus() === modelStatus.infeasible) return { kind: "infeasible" } as const;
    const found = solver.info.get("primal_solution_status") === solutionStatus.feasible;
    const bound = Number(solver.info.get("mip_dual_bound"));
    return {
      kind: "done",
      chosen: found ? chosenFromPoint(arrays, model, solver.getSolution().colValue) : null,
      boundCents: Number.isFinite(bound) ? bound * 100 : null,
      finished: solver.getModelStatus() === modelStatus.optimal,
    } as const;
  });
}

function modelData(model: ExactModel, integers: boolean) {
  return {
    numCols: model.columnCount,
    numRows: model.rowCount,
    colCost: model.columnCost,
    colLower: model.columnLower,
    colUpper: model.columnUpper,
    rowLower: model.rowLower,
    rowUpper: model.rowUpper,
    matrix: {
      format: "csc" as const,
      numRows: model.rowCount,
      numCols: model.columnCount,
      starts: model.starts,
      indices: model.indices,
      values: model.values,
    },
    ...(integers ? { integrality: model.integrality } : {}),
  };
}

/**
 * Row duals of a minimisation are what one more unit of the limit costs, which is negative where it
 * saves; money rows are dollars for dollars. A cent of one year also moves on into the rows after it.
 */
function pricesFromDuals(
  problem: PlanProblem,
  model: ExactModel,
  rowDual: Float64Array,
): PlanPrices {
  const years = budgetYearsOf(problem);
  const budget: Record<string, number> = {};
  const crew: Record<string, number> = {};
  let emission: number | null = problem.emissionCap === null ? null : 0;
  const ofRow = years.map(() => 0);
  model.rows.forEach((row, index) => {
    const price = Math.max(0, -rowDual[index]);
    if (row.kind === "budget") ofRow[row.year] = price;
    if (row.kind === "crew") crew[problem.periods[row.period].id] = price * 100;
    if (row.kind === "emission") emission = price * 100;
  });
  for (let j = years.length - 1; j >= 0; j--) {
    const own = problem.budgets[years[j]];
    if (!own) continue;
    const next = j + 1 < years.length ? (budget[years[j + 1]] ?? 0) : 0;
    budget[years[j]] = ofRow[j] + own.carryOver * next;
  }
  return { budget, crew, emission };
}

function explainRows(
  problem: PlanProblem,
  indexed: IndexedProblem,
  rows: readonly RowMeaning[],
): readonly string[] {
  return explainConflict(problem, {
    budgetYears: uniqueOf(rows, (row) => (row.kind === "budget" ? row.year : null)),
    crewPeriods: uniqueOf(rows, (row) => (row.kind === "crew" ? row.period : null)),
    buildings: uniqueOf(rows, (row) => (row.kind === "electrical" ? row.building : null)),
    heaters: uniqueOf(rows, (row) =>
      row.kind === "assignment" ? indexed.sourceHeater[row.heater] : null,
    ),
    emissions: rows.some((row) => row.kind === "emission"),
  });
}

function uniqueOf(
  rows: readonly RowMeaning[],
  pick: (row: RowMeaning) => number | null,
): readonly number[] {
  const found = rows.map(pick).filter((index) => index !== null);
  return [...new Set(found)].sort((a, b) => a - b);
}

function largest(a: number | null, b: number | null): number | null {
  if (a === null || b === null) return a ?? b;
  return Math.max(a, b);
}

function secondsLeft(options: SolveOptions): number {
  return Math.max(0.01, options.seconds - options.elapsedSeconds());
}
