import { spawnSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import type { PlanProblem, PlanSolution, PlanSolver } from "@/lib/core/planning/problem";
import { toArrays } from "@/lib/core/planning/problem-arrays";
import { solveAutomatically } from "@/lib/core/planning/solvers/auto";
import { solveExactly } from "@/lib/core/planning/solvers/exact";
import { buildExactModel, type ExactModel } from "@/lib/core/planning/solvers/exact-model";
import { aLargePlan, problemOfArrays } from "@/test/support/a-large-plan";

const THEIR_SECONDS = 60;
const OUR_SECONDS = 6;

/** Our plan after a tenth of the time against HiGHS (WebAssembly) and, where installed, CBC. */
export async function run(): Promise<void> {
  const hasCbc = spawnSync("cbc", ["-quit"], { stdio: "ignore" }).error === undefined;
  if (!hasCbc) console.log("CBC is not installed: compared with HiGHS only");
  for (const heaters of [150, 500, 2_000]) {
    for (const cap of [null, 0.85]) {
      const problem = problemOfArrays(aLargePlan({ heaters, cap }));
      const ours = await timed(solveAutomatically, problem, OUR_SECONDS);
      const theirs = await timed(solveExactly, problem, THEIR_SECONDS);
      const cbc = hasCbc ? planByCbc(problem, THEIR_SECONDS) : null;
      const dearer = (other: number | null) =>
        other === null || ours.solution.objectiveCents === null
          ? "it has no plan"
          : `${((100 * (ours.solution.objectiveCents - other)) / other).toFixed(4)} % dearer`;
      console.log(
        `${heaters} heaters, cap ${cap ?? "none"}: ours gap ` +
          `${(100 * (ours.solution.gap ?? Number.NaN)).toFixed(3)} % in ${ours.seconds.toFixed(1)} s; ` +
          `against HiGHS ${dearer(theirs.solution.objectiveCents)}` +
          (cbc ? `, against CBC ${dearer(cbc.objectiveCents)}` : "") +
          `; time ${(ours.seconds / theirs.seconds).toFixed(3)}× of HiGHS's`,
      );
    }
  }
}

async function timed(solve: PlanSolver, problem: PlanProblem, seconds: number) {
  const begin = performance.now();
  const elapsedSeconds = () => (performance.now() - begin) / 1_000;
  const solution: PlanSolution = await solve(problem, {
    gap: 1e-5,
    seconds,
    seed: 1,
    elapsedSeconds,
  });
  return { solution, seconds: elapsedSeconds() };
}

/** The same mixed-integer programme through CBC's own reader, with nothing of ours in between. */
function planByCbc(
  problem: PlanProblem,
  seconds: number,
): { readonly objectiveCents: number | null } {
  const folder = mkdtempSync(join(tmpdir(), "plan-"));
  try {
    const model = join(folder, "plan.mps");
    const answer = join(folder, "plan.sol");
    writeFileSync(model, mpsOf(buildExactModel(toArrays(problem).arrays)));
    spawnSync("cbc", [model, "sec", String(seconds), "ratio", "1e-5", "solve", "solu", answer], {
      stdio: "ignore",
    });
    const text = readFileSync(answer, "utf8");
    const found = /objective value\s+(-?[\d.e+]+)/.exec(text.split("\n")[0] ?? "");
    const usable =
      found !== null && !/infeasible|no (integer )?solution/i.test(text.split("\n")[0]);
    return { objectiveCents: usable ? 100 * Number(found[1]) : null };
  } finally {
    rmSync(folder, { recursive: true });
  }
}

/** The model in free MPS format. */
function mpsOf(model: ExactModel): string {
  const lines = ["NAME plan", "ROWS", " N cost"];
  const kind = (row: number) =>
    model.rowLower[row] === model.rowUpper[row]
      ? "E"
      : Number.isFinite(model.rowUpper[row])
        ? "L"
        : "G";
  for (let row = 0; row < model.rowCount; row++) lines.push(` ${kind(row)} r${row}`);
  lines.push("COLUMNS");
  const columns = (integer: number) => {
    for (let c = 0; c < model.columnCount; c++) {
      if (model.integrality[c] !== integer) continue;
      if (model.columnCost[c] !== 0) lines.push(` c${c} cost ${model.columnCost[c]}`);
      for (let at = model.starts[c]; at < model.starts[c + 1]; at++) {
        lines.push(` c${c} r${model.indices[at]} ${model.values[at]}`);
      }
    }
  };
  columns(0);
  lines.push(" M1 'MARKER' 'INTORG'");
  columns(1);
  lines.push(" M2 'MARKER' 'INTEND'", "RHS");
  for (let row = 0; row < model.rowCount; row++) {
    const side = kind(row) === "G" ? model.rowLower[row] : model.rowUpper[row];
    if (side !== 0) lines.push(` rhs r${row} ${side}`);
  }
  lines.push("BOUNDS");
  for (let c = 0; c < model.columnCount; c++) {
    if (Number.isFinite(model.columnUpper[c])) lines.push(` UP bnd c${c} ${model.columnUpper[c]}`);
  }
  lines.push("ENDATA", "");
  return lines.join("\n");
}
