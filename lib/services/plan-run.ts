import { z } from "zod";
import { READINESS_ITEMS, READINESS_LABELS } from "@/lib/core/heaters/vocabulary";
import { buildPlanProblem } from "@/lib/core/planning/build-problem";
import { withMovePenalty } from "@/lib/core/planning/change-plan";
import { checkPlan } from "@/lib/core/planning/check-plan";
import { type PricedHeater, prepareCosting, priceHeater } from "@/lib/core/planning/costing";
import { type Commitment, lockOfCommitment } from "@/lib/core/planning/plan-life";
import {
  type PlanAssignment,
  type PlanProblem,
  type PlanSolution,
  relativeGap,
  type SolveProgress,
} from "@/lib/core/planning/problem";
import { CUSTOMARY_REPLACEMENT_AGE_YEARS } from "@/lib/core/planning/strategies";
import { addMonths, calendarDay } from "@/lib/core/shared/calendar-day";
import { formatCents } from "@/lib/core/shared/money";
import { loadFleet } from "@/lib/data/fleet";
import { listOptions } from "@/lib/data/options";
import { listCommitments } from "@/lib/data/plan-lives";
import {
  claimRun,
  endRun,
  listBuildings,
  listReadiness,
  requeueRun,
  storePlan,
  writeProgress,
} from "@/lib/data/plans";
import { readOrganization } from "@/lib/data/settings";
import { listPlants } from "@/lib/data/sites";
import { listInferredItems } from "@/lib/data/survey";
import { type Tenant, withSql } from "@/lib/data/tenant";
import { freezeInputs } from "./plan-frozen";
import {
  PLAN_FACTORS,
  type PlanInputs,
  type PlanModels,
  type PlanRecord,
  preparePlanInputs,
} from "./plan-inputs";
import { circuitCents, linesOfPlan } from "./plan-lines";
import { loadEarlierPlan } from "./plan-replan-run";
import { simulateRun } from "./plan-simulation";
import { withoutTooSmall } from "./plan-sizing";
import { compareStrategies, headlineOf, type PlanSummary } from "./plan-summary";
import { loadCurrentModel } from "./risk-model";
import { readOwnConsequences, resolveConsequences } from "./settings-consequences";
import { loadOwnUpkeepCents } from "./upkeep-costs";

/** Version of the way from the record to the stored plan; part of the fingerprint. */
const METHOD = "plan-2";

/** A gap that ends the search, and the seconds after which what is found is taken. */
const SOLVE_LIMITS = { gap: 0.001, seconds: 60 } as const;

/** How often progress is written and a cancellation is noticed, in milliseconds. */
const BEAT_MILLISECONDS = 1_000;

/** What the queue carries for a run. */
export const planJobSchema = z.object({ organizationId: z.uuid(), runId: z.uuid() });
export type PlanJob = z.output<typeof planJobSchema>;

export type SolveRequest = {
  readonly problem: PlanProblem;
  readonly gap: number;
  readonly seconds: number;
  readonly seed: number;
  /** A plan to start from. */
  readonly start?: readonly PlanAssignment[];
};

/** Solves off this thread; ends at once, by rejecting, when the signal says so. */
export type SolveAside = (
  request: SolveRequest,
  options: {
    readonly signal: AbortSignal;
    readonly onProgress: (progress: SolveProgress) => void;
  },
) => Promise<PlanSolution>;

/** A run that cannot end in a plan, in words for the person who asked for it. */
class RunEnd extends Error {
  constructor(
    readonly status: "infeasible" | "failed",
    message: string,
  ) {
    super(message);
  }
}

/**
 * Computes a requested run and stores what came of it: a plan that passed the independent check, or
 * why there is none. Tried again after a crash it starts over and stores one plan; a run that has
 * ended or was cancelled is left alone.
 *
 * @param signal the worker is stopping: the run goes back into the queue
 */
export async function executePlanRun(
  data: unknown,
  { signal, solve }: { readonly signal: AbortSignal; readonly solve: SolveAside },
): Promise<void> {
  const job = planJobSchema.parse(data);
  const tenant: Tenant = { organizationId: job.organizationId };
  const claim = await withSql(tenant, (client) => claimRun(client, job.runId));
  if (!claim) return;

  const reporter = new RunReporter(tenant, job.runId, signal);
  try {
    await computePlanRun(job, claim, tenant, reporter, solve);
  } catch (error) {
    if (signal.aborted) {
      await withSql(tenant, (client) => requeueRun(client, job.runId));
      throw error;
    }
    if (reporter.isCancelled) return;
    const end =
      error instanceof RunEnd
        ? error
        : new RunEnd("failed", `The plan could not be computed: ${messageOf(error)}.`);
    await withSql(tenant, (client) => endRun(client, job.runId, end.status, end.message));
  } finally {
    await reporter.stop();
  }
}

type Claim = NonNullable<Awaited<ReturnType<typeof claimRun>>>;

async function computePlanRun(
  job: PlanJob,
  { terms, seed }: Claim,
  tenant: Tenant,
  reporter: RunReporter,
  solve: SolveAside,
): Promise<void> {
  const asOf = calendarDay(terms.startDay);
  const { replan } = terms;
  const read = await withSql(tenant, async (client) => ({
    earlier: replan ? await loadEarlierPlan(client, replan.of, terms.periods) : null,
    ...(await loadFleet(client)),
    readiness: await listReadiness(client),
    inferred: await listInferredItems(client),
    buildings: await listBuildings(client),
    plants: await listPlants(client),
    upkeepCents: await loadOwnUpkeepCents(client, { from: addMonths(asOf, -60), to: asOf }),
    options: await listOptions(client),
    settings: (await readOrganization(client)).settings,
    survival: await loadCurrentModel(client),
    commitments: await listCommitments(client),
  }));
  const { earlier } = read;
  const record = { ...read, heaters: read.heaters.filter(({ id }) => !earlier?.done.has(id)) };
  const models: PlanModels = {
    survival: record.survival,
    consequences: resolveConsequences(readOwnConsequences(record.settings.consequences)),
    factors: PLAN_FACTORS,
  };
  if (record.heaters.length === 0) {
    throw new RunEnd(
      "failed",
      "There is no heater in service to plan for. Bring in heaters first.",
    );
  }

  reporter.say(0.05, `Pricing every option for ${count(record.heaters.length, "heater")}`);
  const context = prepareCosting(terms, record.options);
  const inputs = withCommitments(
    preparePlanInputs(context, record, models, asOf),
    record.commitments,
    terms.periods,
  );
  const priced = inputs.heaters.map((input) =>
    withoutTooSmall(priceHeater(context, input), inputs.tooSmall.get(input.id) ?? new Set()),
  );
  const stuck = explainStuckHeaters(priced, record);
  if (stuck !== null) throw new RunEnd("infeasible", stuck);
  const impossible = explainImpossibleLocks(priced, record);
  if (impossible !== null) throw new RunEnd("infeasible", impossible);
  const problem = buildPlanProblem(
    context,
    priced,
    inputs.buildings,
    inputs.conversions.map(({ id, heaters }) => ({ id, heaters })),
  );
  const frozen = await freezeInputs({
    method: METHOD,
    terms,
    seed,
    limits: SOLVE_LIMITS,
    models: { survival: models.survival, consequences: models.consequences },
    options: [...context.options.values()],
    buildings: inputs.buildings,
    conversions: inputs.conversions,
    heaters: inputs.heaters.map((input) => ({
      ...input,
      tooSmall: [...(inputs.tooSmall.get(input.id) ?? [])].sort(),
    })),
  });

  const charged =
    replan && earlier ? withMovePenalty(problem, earlier.lines, replan.penaltyCents) : problem;
  const began = performance.now();
  const solution = await solve(
    {
      problem: bareProblem(charged),
      ...SOLVE_LIMITS,
      seed,
      ...(earlier ? { start: earlier.lines } : {}),
    },
    {
      signal: reporter.signal,
      onProgress: (progress) => reporter.sayOfSolve(progress, performance.now() - began),
    },
  );
  const solveSeconds = (performance.now() - began) / 1000;
  const inWords = wordsWithNames(record);
  if (solution.status === "infeasible") {
    throw new RunEnd("infeasible", solution.infeasibility.map(inWords).join("\n"));
  }
  if (solution.status === "not-found") {
    throw new RunEnd("failed", solution.infeasibility.map(inWords).join("\n"));
  }

  reporter.say(0.92, "Checking the plan against every rule");
  const check = checkPlan(problem, solution);
  if (check.violations.length > 0) {
    throw new RunEnd(
      "failed",
      `The solver's plan breaks a rule and was not stored: ${check.violations.map(inWords).join("; ")}`,
    );
  }
  const chargedCents =
    charged === problem ? check.objectiveCents : checkPlan(charged, solution).objectiveCents;
  const penaltiesCents = Math.max(0, Math.round(chargedCents - check.objectiveCents));
  // What the search was charged for moves is no cost. Less it, the bound holds for every plan that
  // moves no more lines than this one.
  const lowerBoundCents =
    solution.lowerBoundCents === null ? null : solution.lowerBoundCents - penaltiesCents;
  const difference = Math.abs(chargedCents - (solution.objectiveCents ?? Number.NaN));
  if (!(difference <= 1e-6 * Math.max(100, Math.abs(chargedCents)))) {
    throw new RunEnd(
      "failed",
      "The solver's cost of the plan and the independent costing differ, so it was not stored.",
    );
  }

  const { outcomes, ledger, schedules } = compareStrategies(
    problem,
    solution,
    inputs.heaters,
    context,
    CUSTOMARY_REPLACEMENT_AGE_YEARS,
  );
  const simulation = await simulateRun({
    context,
    inputs: inputs.heaters,
    priced,
    problem,
    schedules,
    heaters: record.heaters,
    models,
    asOf,
    seed,
    signal: reporter.signal,
    onProgress: (share, trials) =>
      reporter.say(
        0.92 + 0.05 * share,
        `Simulating failures: ${count(trials, "trial")} of the plan and four other ways to decide`,
      ),
  });
  const lines = linesOfPlan(solution.assignments, inputs.heaters, priced, context);
  const summary: PlanSummary = {
    headline: headlineOf(outcomes, record.heaters.length),
    asOf,
    buildings: inputs.buildings.length,
    solver: solution.solver,
    solveSeconds,
    survivalMethod: models.survival.method,
    optionNames: Object.fromEntries(record.options.map(({ code, name }) => [code, name])),
    ledger,
    circuitCentsByYear: circuitCents(
      lines,
      context,
      ledger.map(({ year }) => year),
    ),
    outcomes,
    replaceAtAgeYears: CUSTOMARY_REPLACEMENT_AGE_YEARS,
    prices: solution.prices,
    excessKg: check.excessKg,
    countedKg: terms.emissionCap === null ? null : check.kg,
    assumptions: inputs.assumptions,
    simulation,
    ...(replan ? { replan: { penaltiesCents } } : {}),
  };
  const upgradeCents = new Map(problem.buildings.map(({ id, upgrade }) => [id, upgrade?.cents]));

  reporter.say(0.97, "Storing the plan");
  await reporter.stop();
  await withSql(tenant, async (client) => {
    const stored = await storePlan(client, job.organizationId, job.runId, {
      method: `${METHOD}, ${solution.solver}`,
      fingerprint: frozen.fingerprint,
      frozenInputs: frozen.bytes,
      objectiveCents: check.objectiveCents,
      lowerBoundCents,
      gap: lowerBoundCents === null ? null : relativeGap(check.objectiveCents, lowerBoundCents),
      summary,
      lines,
      upgrades: solution.upgrades.map(({ building, period }) => ({
        buildingId: building,
        period,
        costCents: upgradeCents.get(building) ?? 0,
      })),
    });
    if (!stored) reporter.markCancelled();
  });
}

/** Inputs with the lines that the plan in force has promised as locks. */
function withCommitments(
  inputs: PlanInputs,
  commitments: readonly Commitment[],
  periods: Claim["terms"]["periods"],
): PlanInputs {
  const locks = new Map(
    commitments.map((commitment) => [commitment.heaterId, lockOfCommitment(commitment, periods)]),
  );
  const bound = inputs.heaters.filter(({ id }) => locks.get(id)).length;
  if (bound === 0) return inputs;
  return {
    ...inputs,
    heaters: inputs.heaters.map((input) => {
      const lock = locks.get(input.id);
      return lock ? { ...input, lock } : input;
    }),
  };
}

/** Committed lines for which the scenario has no such choice any more, in words; null when there is none. */
function explainImpossibleLocks(
  priced: readonly PricedHeater[],
  record: PlanRecord,
): string | null {
  const tags = new Map(record.heaters.map(({ id, tag }) => [id, tag]));
  const lost = priced.flatMap(({ id, lock, choices }) =>
    lock === null ||
    lock === "never" ||
    choices.some(({ option, period }) => option === lock.option && period === lock.period)
      ? []
      : [`${tags.get(id) ?? id} (${lock.option} in ${lock.period})`],
  );
  if (lost.length === 0) return null;
  const rest = lost.length - NAMED;
  return [
    `${count(lost.length, "line")} that the plan in force has committed ${lost.length === 1 ? "is" : "are"} ` +
      `not possible in this scenario: ${lost.slice(0, NAMED).join(", ")}${rest > 0 ? ` and ${rest} more` : ""}.`,
    "Allow their options and periods in the scenario, or take these lines back in the plan in force.",
  ].join("\n");
}

/** How many heaters a sentence names before it counts the rest. */
const NAMED = 10;

/** Heaters that must be replaced and for which nothing is possible, with the reasons counted; null when none is. */
function explainStuckHeaters(priced: readonly PricedHeater[], record: PlanRecord): string | null {
  const stuck = priced.filter(({ never, choices }) => never === null && choices.length === 0);
  if (stuck.length === 0) return null;
  const tags = new Map(record.heaters.map(({ id, tag }) => [id, tag]));
  const named = stuck.slice(0, NAMED).map(({ id }) => tags.get(id) ?? id);
  const rest = stuck.length - named.length;
  const reasons = new Map<string, number>();
  for (const { refused } of stuck) {
    for (const reason of new Set(refused.map(({ reason: why }) => why))) {
      reasons.set(reason, (reasons.get(reason) ?? 0) + 1);
    }
  }
  const why = [...reasons]
    .sort(([, a], [, b]) => b - a)
    .map(([reason, heaters]) => `${readinessInWords(reason)} (${heaters})`);
  return [
    `${count(stuck.length, "heater")} must be replaced by the age limit, and none of the options ` +
      `chosen is possible there: ${named.join(", ")}${rest > 0 ? ` and ${rest} more` : ""}.`,
    `Why, by heaters: ${why.join("; ")}.`,
    "Choose another option as well, have these closets looked at, or raise the age limit.",
  ].join("\n");
}

function readinessInWords(reason: string): string {
  return READINESS_ITEMS.reduce(
    (words, item) =>
      words.replace(new RegExp(`\\b${item}\\b`), READINESS_LABELS[item].toLowerCase()),
    reason,
  );
}

/** Choices without the parts that only the stored lines need: less to hand to another thread. */
function bareProblem(problem: PlanProblem): PlanProblem {
  return {
    ...problem,
    heaters: problem.heaters.map(({ id, building, never, choices, lock }) => ({
      id,
      building,
      never,
      lock,
      choices: choices.map(({ option, period, costCents, capitalCents, hours, circuit, kg }) => ({
        option,
        period,
        costCents,
        capitalCents,
        hours,
        circuit,
        kg,
      })),
    })),
  };
}

/** The solver speaks in ids; a person knows heaters by tag and buildings by name. */
function wordsWithNames(record: PlanRecord): (sentence: string) => string {
  const names = new Map<string, string>();
  for (const { id, tag } of record.heaters) names.set(id, tag);
  for (const { id, name, propertyName } of record.buildings)
    names.set(id, `${propertyName}, ${name}`);
  return (sentence) =>
    sentence.replace(/[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}/g, (id) => names.get(id) ?? id);
}

function messageOf(error: unknown): string {
  return error instanceof Error ? error.message.replace(/\.$/, "") : String(error);
}

function count(number: number, noun: string): string {
  return `${new Intl.NumberFormat("en-US").format(number)} ${noun}${number === 1 ? "" : "s"}`;
}

/** Writes progress while a run is computed and notices when it is cancelled. */
class RunReporter {
  readonly #stopping = new AbortController();
  readonly #timer: NodeJS.Timeout;
  readonly #forward = () => this.#stopping.abort(new Error("the worker is stopping"));
  #latest = { progress: 0.01, message: "Reading the record" };
  #writing: Promise<void> = Promise.resolve();
  #cancelled = false;

  constructor(
    private readonly tenant: Tenant,
    private readonly runId: string,
    private readonly shutdown: AbortSignal,
  ) {
    this.#timer = setInterval(() => this.#write(), BEAT_MILLISECONDS);
    shutdown.addEventListener("abort", this.#forward);
    if (shutdown.aborted) this.#forward();
  }

  /** Ends the work under way: the run was cancelled or the worker stops. */
  get signal(): AbortSignal {
    return this.#stopping.signal;
  }

  get isCancelled(): boolean {
    return this.#cancelled;
  }

  markCancelled(): void {
    this.#cancelled = true;
    this.#stopping.abort(new Error("the run was cancelled"));
  }

  say(progress: number, message: string): void {
    this.#latest = { progress, message };
    this.#write();
  }

  sayOfSolve({ objectiveCents, lowerBoundCents }: SolveProgress, milliseconds: number): void {
    const share = Math.min(1, milliseconds / (SOLVE_LIMITS.seconds * 1000));
    this.#latest = {
      progress: 0.1 + 0.8 * share,
      message: wordsOfSolve(objectiveCents, lowerBoundCents),
    };
  }

  async stop(): Promise<void> {
    clearInterval(this.#timer);
    this.shutdown.removeEventListener("abort", this.#forward);
    await this.#writing;
  }

  #write(): void {
    const { progress, message } = this.#latest;
    this.#writing = this.#writing.then(async () => {
      try {
        const goesOn = await withSql(this.tenant, (client) =>
          writeProgress(client, this.runId, progress, message),
        );
        if (!goesOn) this.markCancelled();
      } catch {
        // Progress is a courtesy: a database that is away for a moment does not end the run.
      }
    });
  }
}

function wordsOfSolve(objectiveCents: number | null, lowerBoundCents: number | null): string {
  if (objectiveCents === null) return "Looking for a first plan";
  const best = `Best plan so far costs ${formatCents(objectiveCents, { whole: true })} in present value`;
  if (lowerBoundCents === null || !Number.isFinite(lowerBoundCents)) return best;
  const gap = relativeGap(objectiveCents, lowerBoundCents);
  return `${best}; no plan can be more than ${(gap * 100).toFixed(2)} % better`;
}
