import { isCombustion } from "@/lib/core/heaters/vocabulary";
import {
  type CostingContext,
  type CostingInput,
  installIndexOf,
  type PricedChoice,
  type PricedHeater,
  readinessWork,
  survivalOf,
} from "@/lib/core/planning/costing";
import { COST_PARTS, type CostPart, READINESS_PARTS } from "@/lib/core/planning/options";
import { termsAt } from "@/lib/core/planning/plant-conversion";
import type { PlanAssignment } from "@/lib/core/planning/problem";
import { roundToCents } from "@/lib/core/shared/money";
import type { PlanLine } from "@/lib/data/plans";

/**
 * The lines of a schedule with everything that each cost is made of.
 *
 * @throws {RangeError} when a line names a choice that its heater does not have.
 */
export function linesOfPlan(
  assignments: readonly PlanAssignment[],
  inputs: readonly CostingInput[],
  priced: readonly PricedHeater[],
  context: CostingContext,
): readonly PlanLine[] {
  const inputOf = new Map(inputs.map((input) => [input.id, input]));
  const pricedOf = new Map(priced.map((heater) => [heater.id, heater]));
  return assignments.map((line): PlanLine => {
    const input = inputOf.get(line.heater);
    const heater = pricedOf.get(line.heater);
    if (!input || !heater) throw new RangeError(`there is no heater "${line.heater}"`);
    if ("never" in line) {
      const { alive } = survivalOf(input.conditionalFailure);
      return {
        heaterId: line.heater,
        optionCode: null,
        period: null,
        capitalCents: 0,
        hours: 0,
        parts: {
          price: heater.left.parts,
          swap: {},
          incentiveCents: 0,
          leftCents: heater.left.costCents,
          failsBefore: 1 - (alive[alive.length - 1] ?? 1),
          unknownReadiness: [],
        },
      };
    }
    const choice = heater.choices.find(
      ({ option, period }) => option === line.option && period === line.period,
    );
    if (!choice) throw new RangeError(`heater "${line.heater}" has no such choice`);
    const { swap, incentiveCents } = swapParts(choice, input, context);
    return {
      heaterId: line.heater,
      optionCode: line.option,
      period: line.period,
      capitalCents: choice.capitalCents,
      hours: choice.hours,
      parts: {
        price: choice.parts,
        swap,
        incentiveCents,
        leftCents: heater.left.costCents,
        failsBefore: choice.failsBefore,
        unknownReadiness: choice.unknownReadiness,
      },
    };
  });
}

/** What the lines of each budget year spend on circuits and panels, cents, in the order of `years`. */
export function circuitCents(
  lines: readonly PlanLine[],
  context: CostingContext,
  years: readonly string[],
): readonly number[] {
  const yearOf = new Map(context.periods.map(({ id, budgetYear }) => [id, budgetYear]));
  const cents = new Map(years.map((year) => [year, 0]));
  for (const { period, parts } of lines) {
    const year = period === null ? undefined : yearOf.get(period);
    if (year === undefined) continue;
    const here = (parts.swap.circuit ?? 0) + (parts.swap.panelShare ?? 0);
    cents.set(year, (cents.get(year) ?? 0) + here);
  }
  return years.map((year) => cents.get(year) ?? 0);
}

/**
 * What the period's budget pays, part by part in whole cents of that period's money. The parts less
 * the incentive are exactly the line's capital: what rounding leaves goes to the largest part.
 */
function swapParts(
  choice: PricedChoice,
  input: CostingInput,
  context: CostingContext,
): { readonly swap: Partial<Record<CostPart, number>>; readonly incentiveCents: number } {
  const option = context.options.get(choice.option);
  if (!option) throw new RangeError(`no option "${choice.option}"`);
  const terms = termsAt(option.terms, input);
  const t = context.periods.findIndex(({ id }) => id === choice.period);
  const index = installIndexOf(context, terms)[t];
  if (index === undefined) throw new RangeError(`no period "${choice.period}"`);
  const work = readinessWork(input, terms, context.terms.unknownNeedsWorkShare);
  const exact = new Map<CostPart, number>();
  for (const part of COST_PARTS) {
    const isFixed = !READINESS_PARTS.has(part);
    if (part === "ventAndGasCapOff" && !isCombustion(input.technology)) continue;
    const cents = (isFixed ? terms.costs[part]?.likelyCents : work.cents[part]) ?? 0;
    if (cents > 0) exact.set(part, cents * index);
  }
  const total = [...exact.values()].reduce((sum, cents) => sum + cents, 0);
  const incentiveCents = Math.max(0, roundToCents(total - choice.capitalCents));
  const swap: Partial<Record<CostPart, number>> = {};
  let largest: CostPart | null = null;
  let rest = choice.capitalCents + incentiveCents;
  for (const [part, cents] of exact) {
    swap[part] = roundToCents(cents);
    rest -= roundToCents(cents);
    if (largest === null || cents > (exact.get(largest) ?? 0)) largest = part;
  }
  if (largest !== null) swap[largest] = (swap[largest] ?? 0) + rest;
  return { swap, incentiveCents };
}
