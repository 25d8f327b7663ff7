import type { PlanProblem } from "@/lib/core/planning/problem";
import { createRandom } from "@/lib/core/stats/random";

export type InstanceShape = {
  readonly seed: number;
  readonly heaters: number;
  readonly periods: number;
  readonly heatersPerBuilding: number;
  readonly options: number;
  /** Share of the unlimited plan's capital that the budgets allow together. */
  readonly tightness: number;
  readonly crews: boolean;
  /** Share of the unlimited plan's cut in emissions that the cap asks for; null for no cap. */
  readonly cap: number | null;
  readonly carryOver: number;
  readonly lockShare: number;
};

/**
 * A seeded, invented instance with everything the model has: limited headroom, upgrades, visits,
 * crews, a cap, carry-over, committed lines. Costs fall and rise with the period as a failing heater's
 * do, so that timing matters.
 */
export function aPlanProblem(shape: InstanceShape): PlanProblem {
  const random = createRandom(shape.seed);
  const between = (low: number, high: number) => low + (high - low) * random.nextUniform();
  const whole = (low: number, high: number) => Math.floor(between(low, high + 1));
  const T = shape.periods;
  const periods = Array.from({ length: T }, (_, t) => ({
    id: `P${t + 1}`,
    budgetYear: `Y${Math.floor(t / 2) + 1}`,
    discount: 1.03 ** -(t + 0.5),
  }));
  const buildingCount = Math.max(1, Math.ceil(shape.heaters / shape.heatersPerBuilding));
  const buildings = Array.from({ length: buildingCount }, (_, b) => ({
    id: `B${b + 1}`,
    headroom: random.nextUniform() < 0.2 ? null : whole(0, Math.ceil(shape.heatersPerBuilding / 2)),
    upgrade:
      random.nextUniform() < 0.7
        ? { cents: whole(50, 400) * 1_000, adds: whole(1, shape.heatersPerBuilding) }
        : null,
    mobilisationCents: random.nextUniform() < 0.6 ? whole(10, 80) * 1_000 : 0,
  }));
  let spendable = 0;
  let workHours = 0;
  let freeKg = 0;
  let neverKg = 0;
  const heaters = Array.from({ length: shape.heaters }, (_, i) => {
    const risk = between(0.02, 0.25);
    const consequence = between(200_000, 900_000);
    const gasKg = between(8_000, 16_000);
    const choices = periods.flatMap((period, t) =>
      Array.from({ length: shape.options }, (_, o) => {
        const capital = Math.round((o === 0 ? 480_000 : 180_000 + o * 60_000) * between(0.8, 1.2));
        const survives = (1 - risk) ** t;
        const kg = (gasKg * t) / T + ((o === 0 ? 0.25 : 0.9 - 0.1 * o) * gasKg * (T - t)) / T;
        return {
          option: `O${o + 1}`,
          period: period.id,
          costCents:
            capital * period.discount +
            (1 - survives) * consequence +
            kg * between(15, 25) +
            between(0, 5_000),
          capitalCents: capital,
          hours: o === 0 ? 6 : 4,
          circuit: o === 0 ? 1 : 0,
          kg,
        };
      }),
    );
    const never = {
      costCents: (1 - (1 - risk) ** T) * (consequence + 250_000) + gasKg * 20,
      kg: gasKg,
    };
    const cheapest = choices.reduce((a, b) => (b.costCents < a.costCents ? b : a));
    if (cheapest.costCents < never.costCents) {
      spendable += cheapest.capitalCents;
      workHours += cheapest.hours;
      freeKg += cheapest.kg;
    } else freeKg += never.kg;
    neverKg += never.kg;
    return {
      id: `H${i + 1}`,
      building: buildings[whole(0, buildingCount - 1)].id,
      never,
      choices,
      lock: null,
    };
  });
  const years = [...new Set(periods.map(({ budgetYear }) => budgetYear))];
  const locked = heaters.map((heater) => {
    if (random.nextUniform() >= shape.lockShare) return heater;
    const { option, period } = heater.choices[whole(0, heater.choices.length - 1)];
    return { ...heater, lock: { option, period } };
  });
  return {
    periods,
    budgets: Object.fromEntries(
      years.map((year) => [
        year,
        {
          cents: Math.round((shape.tightness * spendable * between(0.8, 1.2)) / years.length),
          carryOver: shape.carryOver,
        },
      ]),
    ),
    crewHours: shape.crews
      ? Object.fromEntries(
          periods.map(({ id }) => [id, Math.round((1.2 * workHours * between(0.8, 1.2)) / T) + 6]),
        )
      : {},
    buildings,
    heaters: locked,
    emissionCap:
      shape.cap === null
        ? null
        : { kg: neverKg - shape.cap * (neverKg - freeKg), excessCentsPerKg: null },
  };
}
