import { z } from "zod";
import { ANSWERS, hasTank, TASK_KINDS, TECHNOLOGIES } from "@/lib/core/heaters/vocabulary";
import { type CalendarDay, isCalendarDay } from "@/lib/core/shared/calendar-day";
import { failure, type Outcome, type Problem, success } from "@/lib/core/shared/outcome";
import { parseWith } from "@/lib/core/shared/validation";
import type { AnodeForecast } from "./anode-forecast";
import { readCareHistory } from "./care-history";
import { anodeForecastOf, type DueTask, dueTasks } from "./due-tasks";
import { FINDINGS, isFindingOf } from "./findings";
import { DEFAULT_UPKEEP_RULES, withIntervals } from "./rules";

const day = z.string().transform((text, context): CalendarDay => {
  if (isCalendarDay(text)) return text;
  context.addIssue({ code: "custom", message: `"${text}" is not a day as YYYY-MM-DD` });
  return z.NEVER;
});

const water = z.strictObject({
  hardnessMgPerLitre: z.number().min(0).max(10_000).nullable().default(null),
  softened: z.enum(ANSWERS).default("unknown"),
});

const heater = z.strictObject({
  id: z.string().min(1),
  technology: z.enum(TECHNOLOGIES),
  /** The same day twice where it is known. */
  install: z.strictObject({ earliest: day, latest: day }),
  warrantyYears: z.number().positive().max(50).nullable().default(null),
  expansionControl: z.enum(ANSWERS).default("unknown"),
  leakShutoff: z.enum(ANSWERS).default("unknown"),
  water: water.default({ hardnessMgPerLitre: null, softened: "unknown" }),
  history: z
    .array(
      z.strictObject({
        task: z.enum(TASK_KINDS),
        day,
        finding: z.string().nullable().default(null),
      }),
    )
    .default([]),
});

/** Input of the command `upkeep`: heaters with their water and history. */
export const upkeepSchema = z.strictObject({
  today: day,
  heaters: z.array(heater),
  /** The owner's own base intervals in months. */
  intervalMonths: z.partialRecord(z.enum(TASK_KINDS), z.int().min(1).max(120)).default({}),
});

type UpkeepInput = z.output<typeof upkeepSchema>;
type HeaterInput = UpkeepInput["heaters"][number];

export type UpkeepReport = {
  readonly heaters: readonly {
    readonly id: string;
    readonly tasks: readonly DueTask[];
    /** Null for a heater without a tank. */
    readonly anode: AnodeForecast | null;
  }[];
};

/** Tasks with due days for heaters and their histories; docs/compute.md has the format. */
export function computeUpkeep(input: unknown): Outcome<UpkeepReport> {
  const parsed = parseWith(upkeepSchema, input);
  if (!parsed.ok) return parsed;
  const { today, heaters, intervalMonths } = parsed.value;
  const problems = heaters.flatMap((each, index) => problemsOf(each, `heaters[${index}]`, today));
  if (problems.length > 0) return failure(...problems);

  const rules = withIntervals(DEFAULT_UPKEEP_RULES, intervalMonths);
  return success({
    heaters: heaters.map((each) => {
      const { care, lastFindings } = readCareHistory(each.history);
      const cared = { ...each, care };
      return {
        id: each.id,
        tasks: dueTasks(cared, today, { rules, lastFindings }),
        anode: hasTank(each.technology) ? anodeForecastOf(cared, today, rules) : null,
      };
    }),
  });
}

function problemsOf(each: HeaterInput, path: string, today: CalendarDay): Problem[] {
  const problems: Problem[] = [];
  const { earliest, latest } = each.install;
  if (earliest > latest) {
    problems.push({
      path: `${path}.install`,
      message: `earliest ${earliest} is after latest ${latest}`,
    });
  }
  if (latest > today) {
    problems.push({
      path: `${path}.install.latest`,
      message: `${latest} is after today, ${today}`,
    });
  }
  each.history.forEach((entry, index) => {
    const at = `${path}.history[${index}]`;
    if (entry.day > today) {
      problems.push({ path: `${at}.day`, message: `${entry.day} is after today, ${today}` });
    }
    if (entry.day < earliest) {
      problems.push({
        path: `${at}.day`,
        message: `${entry.day} is before the installation, ${earliest} at the earliest`,
      });
    }
    if (entry.finding !== null && !isFindingOf(entry.task, entry.finding)) {
      problems.push({
        path: `${at}.finding`,
        message: `"${entry.finding}" is not a finding of ${entry.task}: ${FINDINGS[entry.task].join(", ")}`,
      });
    }
  });
  return problems;
}
