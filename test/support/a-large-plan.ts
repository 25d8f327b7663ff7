import type { PlanProblem } from "@/lib/core/planning/problem";
import type { ProblemArrays } from "@/lib/core/planning/problem-arrays";
import { createRandom } from "@/lib/core/stats/random";

export type LargePlanShape = {
  readonly heaters: number;
  readonly seed?: number;
  /** Years of the horizon after the quarters. */
  readonly years?: number;
  /** Quarters at the beginning, a multiple of 4. */
  readonly quarters?: number;
  /** Yearly budget as a share of what an even spread of all heat pumps would need. */
  readonly budget?: number;
  /** The same for crew hours. */
  readonly crews?: number;
  /** Cap as a share of the emissions without any swap; null for none. */
  readonly cap?: number | null;
};

const OPTIONS = [
  { capital: 430_000, hours: 6, circuit: 1, kgShare: 0.19, energyShare: 0.42, life: 13 },
  { capital: 490_000, hours: 5, circuit: 0, kgShare: 0.22, energyShare: 0.5, life: 13 },
  { capital: 190_000, hours: 4, circuit: 0, kgShare: 0.94, energyShare: 0.94, life: 13 },
] as const;

/**
 * An invented portfolio of any size, straight as arrays: 5 to 60 heaters a building, service for a few
 * new circuits before an upgrade, a charge for each visit, ages and lifetimes that make some heaters
 * urgent and some not. Seeded.
 */
export function aLargePlan(shape: LargePlanShape): ProblemArrays {
  const { heaters: N, seed = 1, years = 15, quarters = 0, budget = 0.65, crews = 1.1 } = shape;
  const cap = shape.cap === undefined ? null : shape.cap;
  const random = createRandom(seed);
  const between = (low: number, high: number) => low + (high - low) * random.nextUniform();
  const T = quarters + years;
  const length = Array.from({ length: T }, (_, t) => (t < quarters ? 0.25 : 1));
  const start = length.map((_, t) => length.slice(0, t).reduce((sum, each) => sum + each, 0));
  const horizon = quarters / 4 + years;
  const discount = Float64Array.from(length, (each, t) => 1.03 ** -(start[t] + each / 2));
  const yearOfPeriod = Int32Array.from(length, (_, t) =>
    t < quarters ? Math.floor(t / 4) : quarters / 4 + t - quarters,
  );
  const K = horizon;

  const sizes: number[] = [];
  for (let left = N; left > 0; ) {
    const size = Math.min(left, Math.floor(between(5, 61)));
    sizes.push(size);
    left -= size;
  }
  const B = sizes.length;
  const heaterStart = new Int32Array(B + 1);
  for (let b = 0; b < B; b++) heaterStart[b + 1] = heaterStart[b] + sizes[b];
  const perHeater = OPTIONS.length * T;
  const choiceStart = Int32Array.from({ length: N + 1 }, (_, i) => i * perHeater);
  const cost = new Float64Array(N * perHeater);
  const capital = new Float64Array(N * perHeater);
  const hours = new Float64Array(N * perHeater);
  const circuit = new Float64Array(N * perHeater);
  const kg = new Float64Array(N * perHeater);
  const period = new Int16Array(N * perHeater);
  const neverCost = new Float64Array(N);
  const neverKg = new Float64Array(N);
  const endDiscount = 1.03 ** -horizon;
  let heatPumps = 0;
  let totalNeverKg = 0;
  const before = new Float64Array(T + 1);
  const alive = new Float64Array(T + 1);
  const kgBefore = new Float64Array(T + 1);
  const rest = new Float64Array(T + 1);
  const restYears = new Float64Array(T + 1);
  for (let t = T - 1; t >= 0; t--) {
    rest[t] = rest[t + 1] + length[t] * discount[t];
    restYears[t] = restYears[t + 1] + length[t];
  }
  for (let i = 0; i < N; i++) {
    const age = between(0, 16);
    const scale = between(11, 17);
    const gasCents = between(30_000, 70_000);
    const gasKg = gasCents / 45;
    const emergency = 190_000 + between(80_000, 600_000);
    const site = [between(0.85, 1.25), between(0.85, 1.25), between(0.9, 1.1)];
    alive[0] = 1;
    for (let t = 0; t < T; t++) {
      const hazard = ((age + start[t] + length[t]) / scale) ** 3 - ((age + start[t]) / scale) ** 3;
      const fails = alive[t] * -Math.expm1(-hazard);
      alive[t + 1] = alive[t] - fails;
      const own = alive[t] - fails / 2;
      before[t + 1] =
        before[t] +
        own * gasCents * length[t] * discount[t] +
        fails *
          (emergency * discount[t] +
            0.94 * gasCents * (rest[t + 1] + (length[t] * discount[t]) / 2) -
            endDiscount * 190_000 * (1 - (horizon - start[t]) / 13));
      kgBefore[t + 1] =
        kgBefore[t] +
        own * gasKg * length[t] +
        fails * 0.94 * gasKg * (restYears[t] - length[t] / 2);
    }
    neverCost[i] = before[T];
    neverKg[i] = kgBefore[T];
    totalNeverKg += kgBefore[T];
    heatPumps += OPTIONS[0].capital * site[0];
    for (let t = 0, j = i * perHeater; t < T; t++) {
      for (let o = 0; o < OPTIONS.length; o++, j++) {
        const option = OPTIONS[o];
        capital[j] = Math.round(option.capital * site[o]);
        hours[j] = option.hours;
        circuit[j] = option.circuit;
        period[j] = t;
        cost[j] =
          before[t] +
          alive[t] *
            (capital[j] * discount[t] +
              option.energyShare * gasCents * rest[t] -
              endDiscount * capital[j] * (1 - (horizon - start[t]) / option.life));
        kg[j] = kgBefore[t] + alive[t] * option.kgShare * gasKg * restYears[t];
      }
    }
  }
  const budgetLimit = new Float64Array(K);
  const crewLimit = new Float64Array(T);
  for (let k = 0; k < K; k++) {
    budgetLimit[k] = Math.round(((budget * heatPumps) / horizon) * between(0.85, 1.15));
  }
  for (let t = 0; t < T; t++) {
    crewLimit[t] = Math.round(((crews * N * 6 * length[t]) / horizon) * between(0.85, 1.15));
  }
  const budgetWeight = new Float64Array(K * K);
  for (let k = 0; k < K; k++) budgetWeight[k * K + k] = 1;
  return {
    periodCount: T,
    yearCount: K,
    buildingCount: B,
    heaterCount: N,
    yearOfPeriod,
    discount,
    budgetLimit,
    budgetWeight,
    crewLimit,
    emissionCapKg: cap === null ? Number.POSITIVE_INFINITY : cap * totalNeverKg,
    excessCentsPerKg: Number.POSITIVE_INFINITY,
    heaterStart,
    headroom: Float64Array.from(sizes, (size) =>
      random.nextUniform() < 0.1 ? Number.POSITIVE_INFINITY : Math.floor(between(0, size / 3)),
    ),
    upgradeCents: Float64Array.from(sizes, (size) =>
      random.nextUniform() < 0.1
        ? Number.POSITIVE_INFINITY
        : Math.round(between(150_000, 400_000) + size * 12_000),
    ),
    upgradeAdds: Float64Array.from(sizes, (size) =>
      random.nextUniform() < 0.8 ? size : Math.ceil(size / 3),
    ),
    mobilisationCents: Float64Array.from(sizes, () =>
      random.nextUniform() < 0.2 ? 0 : Math.round(between(20_000, 60_000)),
    ),
    choiceStart,
    neverCost,
    neverKg,
    cost,
    capital,
    hours,
    circuit,
    kg,
    period,
  };
}

/** The same as a problem of objects, for the solvers and the checker that read those. */
export function problemOfArrays(arrays: ProblemArrays): PlanProblem {
  const finite = (value: number) => (Number.isFinite(value) ? value : null);
  const limits = (values: Float64Array, name: (index: number) => string) =>
    Array.from(values, (value, index) => [name(index), value] as const).filter(([, value]) =>
      Number.isFinite(value),
    );
  return {
    periods: Array.from(arrays.discount, (discount, t) => ({
      id: `P${t}`,
      budgetYear: `Y${arrays.yearOfPeriod[t]}`,
      discount,
    })),
    budgets: Object.fromEntries(
      limits(arrays.budgetLimit, (k) => `Y${k}`).map(([year, cents]) => [
        year,
        { cents, carryOver: 0 },
      ]),
    ),
    crewHours: Object.fromEntries(limits(arrays.crewLimit, (t) => `P${t}`)),
    buildings: Array.from({ length: arrays.buildingCount }, (_, b) => {
      const cents = finite(arrays.upgradeCents[b]);
      return {
        id: `B${b}`,
        headroom: finite(arrays.headroom[b]),
        upgrade: cents === null ? null : { cents, adds: arrays.upgradeAdds[b] },
        mobilisationCents: arrays.mobilisationCents[b],
      };
    }),
    heaters: Array.from({ length: arrays.buildingCount }, (_, b) => b).flatMap((b) =>
      Array.from({ length: arrays.heaterStart[b + 1] - arrays.heaterStart[b] }, (_, h) => {
        const i = arrays.heaterStart[b] + h;
        const first = arrays.choiceStart[i];
        const perPeriod = new Map<number, number>();
        return {
          id: `H${i}`,
          building: `B${b}`,
          never: { costCents: arrays.neverCost[i], kg: arrays.neverKg[i] },
          choices: Array.from({ length: arrays.choiceStart[i + 1] - first }, (_, n) => {
            const j = first + n;
            const option = perPeriod.get(arrays.period[j]) ?? 0;
            perPeriod.set(arrays.period[j], option + 1);
            return {
              option: `O${option}`,
              period: `P${arrays.period[j]}`,
              costCents: arrays.cost[j],
              capitalCents: arrays.capital[j],
              hours: arrays.hours[j],
              circuit: arrays.circuit[j],
              kg: arrays.kg[j],
            };
          }),
          lock: null,
        };
      }),
    ),
    emissionCap: Number.isFinite(arrays.emissionCapKg)
      ? {
          kg: arrays.emissionCapKg,
          excessCentsPerKg: finite(arrays.excessCentsPerKg),
        }
      : null,
  };
}
