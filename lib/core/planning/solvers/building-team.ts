import type { ProblemArrays } from "@/lib/core/planning/problem-arrays";
import { BuildingOracle, type OracleAnswer } from "./building-oracle";
import { newUse, type RowPrices } from "./coupling";

/** What groups of buildings are asked: their answers to prices, and where their plans are written. */
export type TeamTask = {
  readonly prices: RowPrices;
  /** Fixed for a problem, so that sums are made in the same order whoever makes them. */
  readonly groups: readonly (readonly number[])[];
  /** Each heater's position among its choices, from `positionOffset` on. */
  readonly position: Int16Array;
  readonly positionOffset: number;
  /** Each building's upgrade, from `upgradeOffset` on. */
  readonly upgrade: Int16Array;
  readonly upgradeOffset: number;
};

/**
 * Those who answer for the buildings of a problem: this thread alone, or several. A group's answer must
 * be that of `evaluateGroup`, so that a plan does not depend on how many there are.
 */
export type BuildingTeam = {
  /** Memory that every member can write to. */
  readonly newInt16Array: (length: number) => Int16Array;
  /** Answers in the order of the groups. */
  readonly evaluate: (task: TeamTask) => Promise<readonly OracleAnswer[]>;
  /** Lets the members go; nothing is asked after it. */
  readonly end: () => Promise<void>;
};

export type TeamFor = (arrays: ProblemArrays) => BuildingTeam;

/** A team of this thread alone. */
export const soloTeam: TeamFor = (arrays) => {
  const oracle = new BuildingOracle(arrays);
  return {
    newInt16Array: (length) => new Int16Array(length),
    evaluate: async (task) =>
      task.groups.map((_, group) => evaluateGroup(arrays, oracle, task, group)),
    end: async () => undefined,
  };
};

/** One group's answer; its plan is written to the task's arrays. */
export function evaluateGroup(
  arrays: ProblemArrays,
  oracle: BuildingOracle,
  { prices, groups, position, positionOffset, upgrade, upgradeOffset }: TeamTask,
  group: number,
): OracleAnswer {
  const answer: OracleAnswer = { ...newUse(arrays), bound: 0, value: 0 };
  for (const b of groups[group]) {
    oracle.evaluate(b, b + 1, prices, answer, position, positionOffset, upgrade, upgradeOffset);
  }
  return answer;
}
