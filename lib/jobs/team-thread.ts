import { parentPort, workerData } from "node:worker_threads";
import type { ProblemArrays } from "@/lib/core/planning/problem-arrays";
import { BuildingOracle, type OracleAnswer } from "@/lib/core/planning/solvers/building-oracle";
import { evaluateGroup, type TeamTask } from "@/lib/core/planning/solvers/building-team";

/** What a member is sent for each task: `next` is the group to be taken next, shared by all. */
export type TeamOrder = {
  readonly number: number;
  readonly task: TeamTask;
  readonly next: Int32Array;
};

/** What it sends back: the groups that it took, with their answers. */
export type TeamReport = {
  readonly number: number;
  readonly answers: readonly (readonly [group: number, answer: OracleAnswer])[];
};

/** Takes groups of a task until none is left. */
export function takeGroups(
  arrays: ProblemArrays,
  oracle: BuildingOracle,
  { task, next }: Pick<TeamOrder, "task" | "next">,
): TeamReport["answers"] {
  const answers: [number, OracleAnswer][] = [];
  for (;;) {
    const group = Atomics.add(next, 0, 1);
    if (group >= task.groups.length) return answers;
    answers.push([group, evaluateGroup(arrays, oracle, task, group)]);
  }
}

if (parentPort !== null && (workerData as { input?: { team?: unknown } }).input?.team === true) {
  const { arrays } = workerData.input as { readonly arrays: ProblemArrays };
  const oracle = new BuildingOracle(arrays);
  const port = parentPort;
  port.on("message", (order: TeamOrder) => {
    const answers = takeGroups(arrays, oracle, order);
    port.postMessage({ number: order.number, answers } satisfies TeamReport);
  });
}
