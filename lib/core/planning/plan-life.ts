import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import { failure, type Outcome, type Problem, success } from "@/lib/core/shared/outcome";
import type { PlanLock } from "./problem";

/** Where a plan stands. A withdrawn plan stays readable; only one in force binds later runs. */
export type PlanStanding = "draft" | "in-force" | "withdrawn";

/** Where a line of an approved plan stands. */
export const LINE_LIVES = ["planned", "committed", "done", "dropped"] as const;
export type LineLife = (typeof LINE_LIVES)[number];

export const LINE_LIFE_LABELS: Readonly<Record<LineLife, string>> = {
  planned: "Planned",
  committed: "Committed",
  done: "Done",
  dropped: "Dropped",
};

/** What a person does to a line: promise it, record that it happened, give it up, or take that back. */
export const LINE_ACTS = ["commit", "finish", "drop", "take-back"] as const;
export type LineAct = (typeof LINE_ACTS)[number];

const NEXT: Readonly<Record<LineLife, Readonly<Partial<Record<LineAct, LineLife>>>>> = {
  planned: { commit: "committed", finish: "done", drop: "dropped" },
  committed: { finish: "done", drop: "dropped", "take-back": "planned" },
  done: { "take-back": "planned" },
  dropped: { "take-back": "planned" },
};

/** What of a line its life depends on. */
export type LivingLine = {
  readonly heaterId: string;
  /** What people call the heater; it names the line in problems. */
  readonly tag: string;
  readonly optionCode: string | null;
  readonly life: LineLife;
  readonly version: number;
};

/** What happened, for `finish`. */
export type LineActual = {
  /** The day on which the new heater was put in. */
  readonly day: CalendarDay | null;
  /** What it cost, cents; null when the bill is not known yet. */
  readonly cents: number | null;
};

export type LineStep = {
  readonly life: LineLife;
  readonly actualDay: CalendarDay | null;
  readonly actualCents: number | null;
};

/**
 * What an act makes of a line, or why it may not be done: the plan is not in force, the line says that
 * the heater stays, someone changed it meanwhile, the act does not follow from where it stands, or a
 * finished line has no day, a day to come, or a cost below zero.
 *
 * @param readVersion the version that the person saw
 * @param today the day on which the act is done
 */
export function stepLine(
  standing: PlanStanding,
  line: LivingLine,
  act: LineAct,
  {
    readVersion,
    actual,
    today,
  }: { readonly readVersion: number; readonly actual: LineActual; readonly today: CalendarDay },
): Outcome<LineStep> {
  const problem = (path: string, message: string): Problem => ({
    path,
    message: `${line.tag}: ${message}`,
  });
  if (standing !== "in-force") {
    return failure(problem("", "only lines of an approved plan in force can be changed."));
  }
  if (line.optionCode === null) {
    return failure(problem("", "the plan leaves this heater; there is no swap to act on."));
  }
  if (line.version !== readVersion) {
    return failure(problem("", "someone changed this line meanwhile. Look at it again."));
  }
  const life = NEXT[line.life][act];
  if (life === undefined) {
    return failure(
      problem("", `it is ${LINE_LIFE_LABELS[line.life].toLowerCase()}: ${MAY_DO[line.life]}`),
    );
  }
  if (act !== "finish") return success({ life, actualDay: null, actualCents: null });
  const problems: Problem[] = [];
  if (actual.day === null) problems.push(problem("day", "say on which day it was done."));
  else if (actual.day > today) problems.push(problem("day", `${actual.day} is still to come.`));
  if (actual.cents !== null && !(Number.isSafeInteger(actual.cents) && actual.cents >= 0)) {
    problems.push(problem("cost", "a cost is whole cents, zero or more."));
  }
  return problems.length > 0
    ? failure(...problems)
    : success({ life, actualDay: actual.day, actualCents: actual.cents });
}

const MAY_DO: Readonly<Record<LineLife, string>> = {
  planned: "it can be committed, marked done or dropped.",
  committed: "it can be marked done, dropped or taken back.",
  done: "it can only be taken back.",
  dropped: "it can only be taken back.",
};

/** A line that people have been told of: later runs keep it. */
export type Commitment = {
  readonly heaterId: string;
  readonly optionCode: string;
  /** First day of the period in which it was promised. */
  readonly start: CalendarDay;
};

/**
 * The lock that a commitment puts on a later run: its option, in the run's period that holds the day it
 * was promised for. One that is overdue goes into the first period. Null when the day lies beyond the
 * run's horizon: then nothing is locked.
 *
 * @param periods in order, each with its first day and the first day after it
 * @throws {RangeError} without periods
 */
export function lockOfCommitment(
  commitment: Commitment,
  periods: readonly { readonly id: string; readonly start: string; readonly end: string }[],
): Exclude<PlanLock, "never"> | null {
  const [first] = periods;
  if (!first) throw new RangeError("periods must hold at least one period, got none");
  const period =
    commitment.start < first.start
      ? first
      : periods.find(({ start, end }) => start <= commitment.start && commitment.start < end);
  return period ? { option: commitment.optionCode, period: period.id } : null;
}

/** Commitments that a new plan does not keep: its line has another option, or there is none. */
export function brokenCommitments<C extends Pick<Commitment, "heaterId" | "optionCode">>(
  commitments: readonly C[],
  lines: readonly { readonly heaterId: string; readonly optionCode: string | null }[],
): readonly C[] {
  const optionOf = new Map(lines.map(({ heaterId, optionCode }) => [heaterId, optionCode]));
  return commitments.filter(({ heaterId, optionCode }) => optionOf.get(heaterId) !== optionCode);
}
