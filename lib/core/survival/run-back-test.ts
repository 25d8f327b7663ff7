import { addYears, type CalendarDay } from "@/lib/core/shared/calendar-day";
import { failure, type Outcome, success } from "@/lib/core/shared/outcome";
import { type BackTestYear, backTestOrigins, backTestYear } from "./back-test";
import { type BackTest, summarizeBackTest } from "./back-test-verdict";
import type { LifeRecord } from "./life-record";

/** A back-test as it is kept: with what was said and what happened year by year. */
export type BackTestReport = BackTest & {
  readonly years: readonly BackTestYearSummary[];
};

export type BackTestYearSummary = {
  readonly origin: CalendarDay;
  readonly failuresLearntFrom: number;
  readonly heaters: number;
  readonly expected: number;
  readonly observed: number;
};

/** Years back that are tried. */
const MOST_YEARS = 10;

/**
 * Tries the model on past years: on a day of each it is fitted to what was on record then and
 * predicts the 12 months after. Why it cannot be tried is said in words.
 *
 * @param onProgress is told the share of the work that is done, 0 to 1
 */
export function runBackTest(
  records: readonly LifeRecord[],
  today: CalendarDay,
  onProgress: (share: number) => void = () => undefined,
): Outcome<BackTestReport> {
  const begin = records.reduce<CalendarDay | null>(
    (first, { observedFrom }) => (first === null || observedFrom < first ? observedFrom : first),
    null,
  );
  if (begin === null) {
    return failure({ path: "records", message: "there is no record to try the model on" });
  }
  const origins = backTestOrigins(today, addYears(begin, 1), MOST_YEARS);
  if (origins.length === 0) {
    return failure({
      path: "records",
      message: `ends are on record since ${begin} only: a back-test needs a year to learn from and 12 months after it to predict`,
    });
  }
  const years: BackTestYear[] = [];
  for (const origin of origins) {
    const year = backTestYear(records, origin);
    if (!year.ok) {
      return failure(
        ...year.problems.map(({ path, message }) => ({
          path,
          message: `as of ${origin}: ${message}`,
        })),
      );
    }
    years.push(year.value);
    onProgress(years.length / origins.length);
  }
  const backTest = summarizeBackTest(years);
  if (backTest === null) {
    return failure({
      path: "records",
      message: "no heater was on record and in service a year or more ago",
    });
  }
  return success({ ...backTest, years: years.map(summarizeYear) });
}

function summarizeYear({ origin, failuresLearntFrom, model }: BackTestYear): BackTestYearSummary {
  return {
    origin,
    failuresLearntFrom,
    heaters: model.length,
    expected: model.reduce((sum, { probability }) => sum + probability, 0),
    observed: model.filter(({ happened }) => happened).length,
  };
}
