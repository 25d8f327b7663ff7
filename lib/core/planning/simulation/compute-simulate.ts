import { z } from "zod";
import { failure, type Outcome, type Problem, success } from "@/lib/core/shared/outcome";
import { parseWith } from "@/lib/core/shared/validation";
import { buildFailureTables, countFailuresBefore, MOST_PERIODS } from "./failure-tables";
import { bandOfRowSums, bandsOfColumns, type OutcomeBand } from "./outcome-bands";
import { randomWords } from "./random-words";

/** Trials unless told otherwise. */
export const DEFAULT_TRIALS = 10_000;

/** More heater-trials than this would keep a thread busy for minutes. */
const MOST_HEATER_TRIALS = 5e9;

/** Trials drawn together: their counts stay in the processor's nearest cache. */
const BLOCK = 256;

const name = z.string().min(1, "must not be empty");
const chance = z
  .number("must be a number from 0 to 1")
  .min(0, "must be from 0 to 1")
  .max(1, "must be from 0 to 1");
const periodRef = z.union([name, z.int().min(1, "periods are counted from 1")], {
  error: "must be a period's id, or its number counted from 1",
});

/** What `compute -- simulate` reads; docs/compute.md explains the fields. */
export const simulateInputSchema = z.strictObject({
  periods: z
    .array(
      z.union([
        name,
        z.strictObject({
          id: name,
          budgetYear: z.unknown().optional(),
          discount: z.unknown().optional(),
        }),
      ]),
    )
    .min(1, "at least one period is needed")
    .optional(),
  heaters: z.array(
    z.strictObject({
      id: name,
      conditional: z
        .array(chance)
        .min(1, "at least one period is needed")
        .max(MOST_PERIODS, `must have at most ${MOST_PERIODS} periods`),
    }),
  ),
  // The answer of `plan` may be put here whole: what else it holds is not looked at.
  plan: z.strictObject({
    assignments: z
      .array(
        z.union(
          [
            z.strictObject({ heater: name, never: z.literal(true) }),
            z.strictObject({ heater: name, option: name.optional(), period: periodRef }),
          ],
          { error: "must be a heater with an option and a period, or with never: true" },
        ),
      )
      .default([]),
    status: z.unknown().optional(),
    objective: z.unknown().optional(),
    lowerBound: z.unknown().optional(),
    gap: z.unknown().optional(),
    seconds: z.unknown().optional(),
    solver: z.unknown().optional(),
    upgrades: z.unknown().optional(),
    mobilisations: z.unknown().optional(),
    prices: z.unknown().optional(),
    infeasibility: z.unknown().optional(),
  }),
  emergencyCents: z.number("must be a number of cents").min(0, "must be zero or more"),
  trials: z.int().min(1, "must be at least 1").max(1_000_000).default(DEFAULT_TRIALS),
  seed: z.int().min(0, "must be zero or more").default(1),
});

export type SimulateOutput = {
  readonly trials: number;
  readonly seed: number;
  readonly periods: readonly {
    readonly period: string;
    readonly emergencies: OutcomeBand;
    readonly spendCents: OutcomeBand;
  }[];
  /** Over all periods: the bands of the sums, which are not the sums of the bands. */
  readonly total: { readonly emergencies: OutcomeBand; readonly spendCents: OutcomeBand };
};

/**
 * The simulation behind `compute -- simulate`: JSON in, JSON out. First failures of the heaters before
 * their planned period, and what those emergencies cost; docs/methods/simulation.md.
 */
export function computeSimulate(input: unknown): Outcome<SimulateOutput> {
  const parsed = parseWith(simulateInputSchema, input);
  if (!parsed.ok) return parsed;
  const { heaters, plan, emergencyCents, trials, seed } = parsed.value;
  const problems: Problem[] = [];
  const fault = (path: string, message: string) => problems.push({ path, message });

  const ids = parsed.value.periods?.map((each) => (typeof each === "string" ? each : each.id));
  const T = ids?.length ?? heaters[0]?.conditional.length ?? 1;
  const periodIds = ids ?? Array.from({ length: T }, (_, t) => String(t + 1));
  if (new Set(periodIds).size < T) fault("periods", "a period is listed twice");
  if (T > MOST_PERIODS) fault("periods", `at most ${MOST_PERIODS} periods can be simulated`);
  if (heaters.length * trials > MOST_HEATER_TRIALS) {
    fault("trials", `heaters × trials may be at most ${MOST_HEATER_TRIALS}`);
  }
  const heaterIndex = new Map<string, number>();
  heaters.forEach(({ id, conditional }, i) => {
    if (heaterIndex.has(id)) fault(`heaters[${i}].id`, `heater "${id}" is listed twice`);
    heaterIndex.set(id, i);
    if (conditional.length !== T) {
      fault(`heaters[${i}].conditional`, `must have ${T} entries, got ${conditional.length}`);
    }
  });
  const replacedIn = new Uint8Array(heaters.length).fill(Math.min(T, MOST_PERIODS));
  const seen = new Set<string>();
  for (const [k, line] of plan.assignments.entries()) {
    const path = `plan.assignments[${k}]`;
    const i = heaterIndex.get(line.heater);
    if (i === undefined) {
      fault(`${path}.heater`, `there is no heater "${line.heater}"`);
      continue;
    }
    if (seen.has(line.heater)) {
      fault(`${path}.heater`, `heater "${line.heater}" has more than one line`);
    }
    seen.add(line.heater);
    if (!("period" in line)) continue;
    const t = typeof line.period === "number" ? line.period - 1 : periodIds.indexOf(line.period);
    if (t < 0 || t >= T) {
      const hint = ids ? "" : "; list the periods' ids under `periods`, or count them from 1";
      fault(`${path}.period`, `there is no period "${line.period}"${hint}`);
      continue;
    }
    replacedIn[i] = t;
  }
  if (problems.length > 0) return failure(...problems);

  const conditional = new Float64Array(heaters.length * T);
  heaters.forEach((heater, i) => {
    conditional.set(heater.conditional, i * T);
  });
  const tables = buildFailureTables(conditional, T);
  const random = randomWords(seed);
  const counts = new Float64Array(trials * T);
  const block = new Uint32Array(BLOCK * (T + 1));
  for (let first = 0; first < trials; first += BLOCK) {
    const size = Math.min(BLOCK, trials - first);
    block.fill(0);
    countFailuresBefore(tables, replacedIn, size, random, block);
    for (let n = 0; n < size; n++) {
      for (let t = 0; t < T; t++) counts[(first + n) * T + t] = block[n * (T + 1) + t];
    }
  }
  const emergencies = bandsOfColumns(counts, T);
  const total = bandOfRowSums(counts, T);
  const spend = (band: OutcomeBand): OutcomeBand => ({
    mean: band.mean * emergencyCents,
    p10: band.p10 * emergencyCents,
    p50: band.p50 * emergencyCents,
    p90: band.p90 * emergencyCents,
  });
  return success({
    trials,
    seed,
    periods: emergencies.map((band, t) => ({
      period: periodIds[t],
      emergencies: band,
      spendCents: spend(band),
    })),
    total: { emergencies: total, spendCents: spend(total) },
  });
}
