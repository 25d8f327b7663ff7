import {
  buildFailureTables,
  countFailuresBefore,
} from "@/lib/core/planning/simulation/failure-tables";
import { randomWords } from "@/lib/core/planning/simulation/random-words";
import { createRandom } from "@/lib/core/stats/random";

const PERIODS = 15;
const BLOCK = 256;

/** An invented fleet: Weibull lives conditional on an age, every second heater with a planned year. */
function inventFleet(heaters: number) {
  const random = createRandom(1);
  const age = Float64Array.from({ length: heaters }, () => 15 * random.nextUniform());
  const shape = Float64Array.from({ length: heaters }, () => 2 + random.nextUniform());
  const scale = Float64Array.from({ length: heaters }, () => 12 + 5 * random.nextUniform());
  const replacedIn = Uint8Array.from({ length: heaters }, (_, i) =>
    i % 2 === 0 ? Math.floor(PERIODS * random.nextUniform()) : PERIODS,
  );
  const conditional = new Float64Array(heaters * PERIODS);
  let exact = 0;
  for (let i = 0; i < heaters; i++) {
    const hazard = (years: number) => ((age[i] + years) / scale[i]) ** shape[i];
    for (let t = 0; t < PERIODS; t++) {
      conditional[i * PERIODS + t] = -Math.expm1(hazard(t) - hazard(t + 1));
    }
    exact -= Math.expm1(hazard(0) - hazard(replacedIn[i]));
  }
  return { age, shape, scale, replacedIn, conditional, exact };
}

type Fleet = ReturnType<typeof inventFleet>;

/** Failure times as a textbook draws them: one uniform number, a logarithm and two powers each. */
function plainLoop({ age, shape, scale, replacedIn }: Fleet, trials: number): number {
  const heaters = age.length;
  const counts = new Uint32Array(PERIODS + 1);
  const random = createRandom(7);
  let emergencies = 0;
  for (let trial = 0; trial < trials; trial++) {
    counts.fill(0);
    for (let i = 0; i < heaters; i++) {
      const now = (age[i] / scale[i]) ** shape[i];
      const life = scale[i] * (now - Math.log(1 - random.nextUniform())) ** (1 / shape[i]);
      const years = life - age[i];
      if (years < replacedIn[i]) counts[Math.floor(years)]++;
    }
    for (let t = 0; t < PERIODS; t++) emergencies += counts[t];
  }
  return emergencies / trials;
}

/** The same counts from the alias tables; building them is in the time. */
function fromTables({ conditional, replacedIn }: Fleet, trials: number): number {
  const tables = buildFailureTables(conditional, PERIODS);
  const random = randomWords(7);
  const block = new Uint32Array(BLOCK * (PERIODS + 1));
  let emergencies = 0;
  for (let first = 0; first < trials; first += BLOCK) {
    const size = Math.min(BLOCK, trials - first);
    block.fill(0);
    countFailuresBefore(tables, replacedIn, size, random, block);
    for (let n = 0; n < size; n++) {
      for (let t = 0; t < PERIODS; t++) emergencies += block[n * (PERIODS + 1) + t];
    }
  }
  return emergencies / trials;
}

/** First failures before the planned year: both ways in one run, one thread. */
export async function run(): Promise<void> {
  for (const heaters of [500, 5_000, 50_000]) {
    const fleet = inventFleet(heaters);
    plainLoop(fleet, 20);
    fromTables(fleet, 512);
    const few = Math.max(40, 2_500_000 / heaters);
    const many = heaters > 5_000 ? 2_000 : 10_000;
    const plain = timed(() => plainLoop(fleet, few));
    const tables = timed(() => fromTables(fleet, many));
    const plainRate = (heaters * few) / plain.seconds / 1e6;
    const rate = (heaters * many) / tables.seconds / 1e6;
    console.log(
      `${heaters} heaters: plain ${plainRate.toFixed(1)}, tables ${rate.toFixed(1)} million heater-trials/s, ` +
        `ratio ${(rate / plainRate).toFixed(1)}; mean emergencies ${plain.value.toFixed(2)} and ` +
        `${tables.value.toFixed(2)}, exact ${fleet.exact.toFixed(2)}`,
    );
  }
}

function timed(work: () => number): { readonly value: number; readonly seconds: number } {
  const start = performance.now();
  const value = work();
  return { value, seconds: (performance.now() - start) / 1000 };
}
