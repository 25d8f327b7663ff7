import {
  type CostingContext,
  type CostingInput,
  type DeviceFlows,
  deviceFlows,
  emergencyOption,
  survivalOf,
  swapCentsOf,
} from "./costing";
import type { PlanAssignment, PlanHeater } from "./problem";

/** What a schedule is expected to bring in one period, undiscounted. */
export type ExpectedPeriod = {
  readonly period: string;
  readonly budgetYear: string;
  /** Planned swaps that still find the old heater standing. */
  readonly plannedSwaps: number;
  readonly plannedCents: number;
  readonly emergencies: number;
  /** Swap, premium, damage and days without hot water. */
  readonly emergencyCents: number;
  readonly energyCents: number;
  readonly maintenanceCents: number;
  /** kg CO2e, every period counted. */
  readonly kg: number;
};

/**
 * The expected course of a schedule, from the same failure probabilities and conventions as the
 * prices (see `priceHeater`), so that any schedules can be compared: exact means, no simulation.
 * Failures of the new heaters are not counted.
 *
 * @param heaters priced heaters, for the capital of each planned line
 * @throws {RangeError} when a line names a choice that its heater does not have
 */
export function expectOutcome(
  context: CostingContext,
  inputs: readonly CostingInput[],
  heaters: ReadonlyMap<string, PlanHeater>,
  assignments: readonly PlanAssignment[],
): readonly ExpectedPeriod[] {
  const T = context.periods.length;
  const rows = context.periods.map(({ id, budgetYear }) => ({
    period: id,
    budgetYear,
    plannedSwaps: 0,
    plannedCents: 0,
    emergencies: 0,
    emergencyCents: 0,
    energyCents: 0,
    maintenanceCents: 0,
    kg: 0,
  }));
  const lines = new Map(assignments.map((line) => [line.heater, line]));
  const periodIndex = new Map(context.periods.map(({ id }, index) => [id, index]));

  for (const input of inputs) {
    const line = lines.get(input.id);
    const planned =
      !line || "never" in line ? null : { ...line, t: periodIndex.get(line.period) ?? -1 };
    const end = planned ? planned.t : T;
    if (end < 0) throw new RangeError(`there is no period "${planned?.period}"`);
    const { alive, fails } = survivalOf(input.conditionalFailure);
    const flows = new Map<string, DeviceFlows>();
    const flowsOf = (code: string) => {
      const known = flows.get(code);
      if (known) return known;
      const use = input.after[code];
      if (!use) throw new RangeError(`after must hold the use of "${code}" for "${input.id}"`);
      const made = deviceFlows(context, use);
      flows.set(code, made);
      return made;
    };
    const run = (device: DeviceFlows, s: number, share: number) => {
      rows[s].energyCents += share * device.energyCents[s];
      rows[s].maintenanceCents += share * device.maintenanceCents[s];
      rows[s].kg += share * device.kg[s];
    };

    const now = deviceFlows(context, input.now);
    /** Chance that an emergency has put each option in by the period's start. */
    const inPlace = new Map<string, number>();
    for (let s = 0; s < T; s++) {
      for (const [code, share] of inPlace) run(flowsOf(code), s, share);
      if (s >= end) {
        if (planned) run(flowsOf(planned.option), s, alive[end]);
        continue;
      }
      run(now, s, alive[s] - fails[s] / 2);
      if (fails[s] === 0) continue;
      const code = emergencyOption(context, input, s);
      const terms = context.options.get(code)?.terms;
      if (!terms) throw new RangeError(`the catalogue has no option "${code}"`);
      run(flowsOf(code), s, fails[s] / 2);
      rows[s].emergencies += fails[s];
      rows[s].emergencyCents +=
        fails[s] *
        (swapCentsOf(terms, input.technology) * context.installIndex[s] + input.consequenceCents);
      inPlace.set(code, (inPlace.get(code) ?? 0) + fails[s]);
    }
    if (planned) {
      const choice = heaters
        .get(input.id)
        ?.choices.find(
          ({ option, period }) => option === planned.option && period === planned.period,
        );
      if (!choice) throw new RangeError(`heater "${input.id}" has no such choice`);
      rows[end].plannedSwaps += alive[end];
      rows[end].plannedCents += alive[end] * choice.capitalCents;
    }
  }
  return rows;
}
