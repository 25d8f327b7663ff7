import { Chart } from "@/app/_components/chart";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import { formatDay, formatNumber } from "@/app/_lib/format";
import { type CalendarDay, yearOf } from "@/lib/core/shared/calendar-day";
import { type ComparedYear, meanBand, type RecordComparison } from "@/lib/services/risk-record";

const VERDICTS: Readonly<Record<ComparedYear["verdict"], string>> = {
  "as-expected": "as expected",
  more: "more than expected",
  fewer: "fewer than expected",
};

/** What the model would have expected in each past year, and what the record says happened. */
export function RecordSection({
  comparison,
  asOf,
  hasLearnt,
}: {
  readonly comparison: RecordComparison;
  readonly asOf: CalendarDay;
  /** The model has read these very years. */
  readonly hasLearnt: boolean;
}) {
  const { years, total } = comparison;
  if (!total) {
    return (
      <p className="soft">
        No past year can be compared: nothing was under observation before today. As heaters retire,
        their ends are recorded here and held against what was expected.
      </p>
    );
  }
  const labels = years.map(({ year }) => (year === yearOf(asOf) ? `${year} so far` : String(year)));
  return (
    <>
      <p>
        <strong>{verdictInWords(comparison)}</strong>
        {hasLearnt &&
          " The model has read these very years, so that it follows them proves nothing: what it would have said beforehand is under “Can I believe it?”."}
      </p>
      <div className="columns">
        <Chart
          title="Failures a year: expected and happened"
          summary={`From ${labels[0]} to ${labels.at(-1)} the model expected ${formatNumber(total.expected)} failures; ${formatNumber(total.happened)} happened. The band holds nine counts in ten, chance and the model's own doubt together.`}
          labelsName="Year"
          labels={labels}
          unit="failures a year"
          format="decimal"
          series={[
            {
              label: "Expected",
              values: years.map(({ expected }) => expected),
              ink: "ink",
              kind: "line",
              band: {
                low: years.map(({ band }) => band.low),
                high: years.map(({ band }) => band.high),
              },
            },
            {
              label: "Happened",
              values: years.map(({ happened }) => happened),
              ink: "copper",
            },
          ]}
        />
        <LedgerFrame label="Failures expected and happened by year">
          <table className="ledger">
            <thead>
              <tr>
                <th scope="col">Year</th>
                <th scope="col" className="number">
                  Heater-years seen
                </th>
                <th scope="col" className="number">
                  Expected
                </th>
                <th scope="col" className="number">
                  By chance, 9 in 10
                </th>
                <th scope="col" className="number">
                  Happened
                </th>
                <th scope="col">Verdict</th>
              </tr>
            </thead>
            <tbody>
              {years.map((year, index) => (
                <tr key={year.year}>
                  <th scope="row">{labels[index]}</th>
                  <ComparedCells year={year} />
                </tr>
              ))}
            </tbody>
            <tfoot>
              <tr>
                <th scope="row">All years</th>
                <ComparedCells year={total} />
              </tr>
            </tfoot>
          </table>
        </LedgerFrame>
      </div>
      <details>
        <summary>How this is counted</summary>
        <div className="section">
          <p>
            Happened: retirements for a leak or for no heat, each in the year of its day (the middle
            where the day is a bracket). Planned swaps, damage from outside and other causes end a
            heater’s record without counting as a failure.
          </p>
          <p>
            Expected: for every heater, in service or retired, the failures that the model expects
            over the time in which its end would have been recorded, and no longer. A heater that
            failed before records began was never seen, so the time before counts on neither side.
            The current year runs to {formatDay(asOf)}.
          </p>
          <p>
            By chance: where nine counts in ten would fall if the model were exactly right. It is
            not a back-test of the ranking: it says whether the level is right, not yet the order.
          </p>
        </div>
      </details>
    </>
  );
}

function ComparedCells({ year }: { readonly year: ComparedYear }) {
  return (
    <>
      <td className="number">{formatNumber(year.heaterYears)}</td>
      <td className="number">{formatNumber(year.expected, 1)}</td>
      <td className="number">
        {formatNumber(year.chance.low)} to {formatNumber(year.chance.high)}
      </td>
      <td className="number">{formatNumber(year.happened)}</td>
      <td>
        {year.verdict === "as-expected" ? (
          VERDICTS[year.verdict]
        ) : (
          <span className="mark mark--attention">{VERDICTS[year.verdict]}</span>
        )}
      </td>
    </>
  );
}

/** The comparison as a whole, in one or two plain sentences. */
export function verdictInWords({ total, verdict }: RecordComparison): string {
  if (!total || verdict === "too-little") {
    return "There are too few failures on record to say whether the model’s level is right.";
  }
  const counts = `The model would have expected ${formatNumber(total.expected)} failures in the years on record; ${formatNumber(total.happened)} happened.`;
  if (verdict === "agrees") return `${counts} Chance alone explains the difference.`;
  const reading = readingInWords(total);
  return verdict === "off"
    ? `${counts} That is more than chance, but within the model’s own doubt. ${reading}`
    : `${counts} Neither chance nor the model’s own doubt explains that. ${reading}`;
}

/** By how much the chances are off, by the record alone, and how sure that is. */
function readingInWords({ expected, happened, verdict }: ComparedYear): string {
  const { low, high } = meanBand(happened);
  const percent = (share: number) => formatNumber(100 * Math.max(0, share));
  if (verdict === "more") {
    return `It expects too few: by this record its chances should be about ${percent(happened / expected - 1)} % higher (nine times in ten ${percent(low / expected - 1)} to ${percent(high / expected - 1)} %).`;
  }
  return `It expects too many: by this record its chances should be about ${percent(1 - happened / expected)} % lower (nine times in ten ${percent(1 - high / expected)} to ${percent(1 - low / expected)} %).`;
}
