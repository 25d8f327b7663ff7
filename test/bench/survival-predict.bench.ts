import type { Heater } from "@/lib/core/heaters/heater";
import { addDays, calendarDay } from "@/lib/core/shared/calendar-day";
import { createRandom } from "@/lib/core/stats/random";
import { PRIOR_MODEL } from "@/lib/core/survival/model";
import {
  type FleetColumns,
  failureProbabilities12Months,
  fleetColumns,
} from "@/lib/core/survival/predict";
import { aHeater } from "@/test/support/a-heater";

const HEATERS = 100_000;
const ROUNDS = 15;
const today = calendarDay("2026-06-01");

/** An invented fleet; `bracketShare` of it knows its install day only to within two years. */
function inventFleet(bracketShare: number): readonly Heater[] {
  const random = createRandom(1);
  return Array.from({ length: HEATERS }, (_, i) => {
    const latest = addDays(today, -Math.floor(random.nextUniform() * 7000));
    const earliest = random.nextUniform() < bracketShare ? addDays(latest, -730) : latest;
    return aHeater({ id: String(i), install: { earliest, latest, evidence: "serial-number" } });
  });
}

/** The yardstick: the formula in a loop over plain arrays, one row per heater. */
function plainLoop({ exposureYears, addedYears, shape, scaleYears }: FleetColumns): Float64Array {
  const answer = new Float64Array(addedYears.length);
  for (let i = 0; i < answer.length; i++) {
    const before = (exposureYears[i] / scaleYears[i]) ** shape[i];
    const after = ((exposureYears[i] + addedYears[i]) / scaleYears[i]) ** shape[i];
    answer[i] = -Math.expm1(before - after);
  }
  return answer;
}

function medianMilliseconds(work: () => unknown): number {
  const times = Array.from({ length: ROUNDS }, () => {
    const start = performance.now();
    work();
    return performance.now() - start;
  });
  return times.sort((a, b) => a - b)[Math.floor(ROUNDS / 2)];
}

/** The 12-month pass over a fleet against a plain loop over the formula. */
export async function run(): Promise<void> {
  for (const share of [0, 0.2]) {
    const fleet = inventFleet(share);
    const started = performance.now();
    const columns = fleetColumns(PRIOR_MODEL, fleet, today);
    const building = performance.now() - started;
    const pass = medianMilliseconds(() => failureProbabilities12Months(columns));
    const plain = medianMilliseconds(() => plainLoop(columns));
    console.log(
      `12-month chance of ${HEATERS} heaters, ${100 * share} % with an install bracket: ` +
        `${pass.toFixed(1)} ms, plain loop ${plain.toFixed(1)} ms, ratio ${(pass / plain).toFixed(2)} ` +
        `(columns from records ${building.toFixed(0)} ms)`,
    );
  }
}
