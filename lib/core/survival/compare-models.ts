import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import { bandFailureCounts, type FailureCountBand } from "./bands";
import { drawModels } from "./draws";
import type { AgeingHeater } from "./exposure";
import type { SurvivalModel } from "./model";
import { failureProbabilities12Months, fleetColumns, rankFleet } from "./predict";

/** What changes for a fleet when one model takes another's place. */
export type ModelComparison = {
  /** Method of the model it is held against. */
  readonly against: string;
  readonly heaters: number;
  /** First failures in each year ahead under the model and under the other. */
  readonly years: readonly { readonly model: FailureCountBand; readonly other: FailureCountBand }[];
  /** Spearman's correlation of the two rankings, 1 when they agree; null below two heaters. */
  readonly rankCorrelation: number | null;
  /** Of the heaters that rank first under the other, how many still do. */
  readonly top: { readonly size: number; readonly stay: number };
  /** The heaters whose chance changes most. */
  readonly movers: readonly Mover[];
};

export type Mover = {
  readonly heaterId: string;
  /** Chance of failing within 12 months under the other model and under the model. */
  readonly before: number;
  readonly after: number;
  /** 1 is the likeliest to fail. */
  readonly rankBefore: number;
  readonly rankAfter: number;
};

const YEARS = 10;
const DRAWS = { count: 100, seed: 1 };
const MOVERS = 12;
/** Failures by year of a larger fleet are worked out on a sample of it, to about one in a hundred. */
const SAMPLE = 10_000;

/** Holds a model against another on the heaters in service as of a day. */
export function compareModels(
  model: SurvivalModel,
  other: SurvivalModel,
  heaters: readonly AgeingHeater[],
  today: CalendarDay,
): ModelComparison {
  const chancesOf = (one: SurvivalModel) =>
    failureProbabilities12Months(fleetColumns(one, heaters, today));
  const after = chancesOf(model);
  const before = chancesOf(other);
  const rankAfter = ranksOf(after, heaters);
  const rankBefore = ranksOf(before, heaters);
  const top = Math.ceil(heaters.length / 10);
  let stay = 0;
  for (let i = 0; i < heaters.length; i++) {
    if (rankBefore[i] <= top && rankAfter[i] <= top) stay++;
  }
  const propertyIds = heaters.map(({ propertyId }) => propertyId);
  const stride = Math.ceil(heaters.length / SAMPLE);
  const sample = heaters.filter((_, i) => i % stride === 0);
  const countsOf = (one: SurvivalModel) =>
    bandFailureCounts(drawModels(one, { ...DRAWS, propertyIds }), sample, today, YEARS, {
      each: heaters.length / Math.max(1, sample.length),
    });
  const counts = countsOf(model);
  const otherCounts = countsOf(other);
  const most = Uint32Array.from(heaters, (_, i) => i).sort(
    (a, b) =>
      Math.abs(after[b] - before[b]) - Math.abs(after[a] - before[a]) ||
      (heaters[a].id < heaters[b].id ? -1 : 1),
  );
  return {
    against: other.method,
    heaters: heaters.length,
    years: counts.map((count, k) => ({ model: count, other: otherCounts[k] })),
    rankCorrelation: spearman(rankBefore, rankAfter),
    top: { size: top, stay },
    movers: Array.from(most.subarray(0, MOVERS), (i) => ({
      heaterId: heaters[i].id,
      before: before[i],
      after: after[i],
      rankBefore: rankBefore[i],
      rankAfter: rankAfter[i],
    })),
  };
}

function ranksOf(chances: Float64Array, heaters: readonly AgeingHeater[]): Uint32Array {
  const ranks = new Uint32Array(heaters.length);
  rankFleet(chances, heaters).forEach((i, rank) => {
    ranks[i] = rank + 1;
  });
  return ranks;
}

/** Spearman's rank correlation of two orders without ties: 1 − 6 Σ d² / (n (n² − 1)). */
function spearman(a: Uint32Array, b: Uint32Array): number | null {
  const n = a.length;
  if (n < 2) return null;
  let squares = 0;
  for (let i = 0; i < n; i++) squares += (a[i] - b[i]) ** 2;
  return 1 - (6 * squares) / (n * (n * n - 1));
}
