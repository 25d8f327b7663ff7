import type { ChosenArrays, ProblemArrays } from "@/lib/core/planning/problem-arrays";
import { newUse } from "./coupling";
import { addBuildingUse } from "./sequential-plan";

/** Some buildings of a problem, with the limits that the rest of a plan leaves them. */
export type ProblemPart = {
  readonly arrays: ProblemArrays;
  /** The plan's own lines for the part. */
  readonly start: ChosenArrays;
  /** The whole plan with other lines for the part. */
  readonly merge: (part: ChosenArrays) => ChosenArrays;
};

/**
 * @param mayChange whether heater i may take choice j; what the plan has chosen is always allowed, and
 * leaving a heater only where it may change at all
 */
export function partOfProblem(
  arrays: ProblemArrays,
  chosen: ChosenArrays,
  buildings: readonly number[],
  mayChange: (heater: number, choice: number) => boolean,
): ProblemPart {
  const K = arrays.yearCount;
  const inside = new Set(buildings);
  const position = Int16Array.from(chosen.choice, (j, i) =>
    j < 0 ? -1 : j - arrays.choiceStart[i],
  );
  const outside = newUse(arrays);
  for (let b = 0; b < arrays.buildingCount; b++) {
    if (!inside.has(b)) addBuildingUse(arrays, b, position, chosen.upgrade, outside);
  }
  const budgetLimit = arrays.budgetLimit.slice();
  for (let k = 0; k < K; k++) {
    for (let y = 0; y <= k; y++) {
      budgetLimit[k] -= arrays.budgetWeight[k * K + y] * outside.spent[y];
    }
  }

  const heaters: number[] = [];
  const heaterStart = [0];
  const choices: number[] = [];
  const choiceStart = [0];
  const neverCost: number[] = [];
  const startChoice: number[] = [];
  for (const b of buildings) {
    for (let i = arrays.heaterStart[b]; i < arrays.heaterStart[b + 1]; i++) {
      const now = chosen.choice[i];
      startChoice.push(now < 0 ? -1 : -2);
      for (let j = arrays.choiceStart[i]; j < arrays.choiceStart[i + 1]; j++) {
        if (j !== now && !mayChange(i, j)) continue;
        if (j === now) startChoice[startChoice.length - 1] = choices.length;
        choices.push(j);
      }
      neverCost.push(now < 0 || mayChange(i, -1) ? arrays.neverCost[i] : Number.POSITIVE_INFINITY);
      heaters.push(i);
      choiceStart.push(choices.length);
    }
    heaterStart.push(heaters.length);
  }
  const ofBuildings = (values: Float64Array) => Float64Array.from(buildings, (b) => values[b]);
  const ofChoices = (values: Float64Array) => Float64Array.from(choices, (j) => values[j]);
  return {
    arrays: {
      ...arrays,
      buildingCount: buildings.length,
      heaterCount: heaters.length,
      budgetLimit,
      crewLimit: arrays.crewLimit.map((limit, t) => limit - outside.hours[t]),
      emissionCapKg: arrays.emissionCapKg - outside.kg,
      heaterStart: Int32Array.from(heaterStart),
      headroom: ofBuildings(arrays.headroom),
      upgradeCents: ofBuildings(arrays.upgradeCents),
      upgradeAdds: ofBuildings(arrays.upgradeAdds),
      mobilisationCents: ofBuildings(arrays.mobilisationCents),
      choiceStart: Int32Array.from(choiceStart),
      neverCost: Float64Array.from(neverCost),
      neverKg: Float64Array.from(heaters, (i) => arrays.neverKg[i]),
      cost: ofChoices(arrays.cost),
      capital: ofChoices(arrays.capital),
      hours: ofChoices(arrays.hours),
      circuit: ofChoices(arrays.circuit),
      kg: ofChoices(arrays.kg),
      period: Int16Array.from(choices, (j) => arrays.period[j]),
    },
    start: {
      choice: Int32Array.from(startChoice),
      upgrade: Int16Array.from(buildings, (b) => chosen.upgrade[b]),
    },
    merge: (part) => {
      const choice = chosen.choice.slice();
      const upgrade = chosen.upgrade.slice();
      heaters.forEach((i, n) => {
        choice[i] = part.choice[n] < 0 ? -1 : choices[part.choice[n]];
      });
      buildings.forEach((b, n) => {
        upgrade[b] = part.upgrade[n];
      });
      return { choice, upgrade };
    },
  };
}
