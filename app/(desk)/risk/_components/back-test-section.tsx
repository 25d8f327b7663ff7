import { Chart } from "@/app/_components/chart";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import { formatNumber, formatShare } from "@/app/_lib/format";
import { GRADES } from "@/app/(desk)/risk/_lib/risk-words";
import type { BaselineComparison } from "@/lib/core/survival/back-test-verdict";
import type { Scores } from "@/lib/core/survival/calibration";
import type { BackTestReport } from "@/lib/core/survival/run-back-test";
import type { FitRow } from "@/lib/services/risk-fits";
import styles from "./risk.module.css";

/** How the model would have done on past years, or why that cannot be said. */
export function BackTestSection({
  fit,
  backTest,
}: {
  readonly fit: Pick<FitRow, "backTestStatus" | "backTestProgress" | "backTestMessage">;
  readonly backTest: BackTestReport | null;
}) {
  if (backTest === null) return <NoBackTest fit={fit} />;
  const { verdict, calibration, origins, endedOtherwise } = backTest;
  const { label, mark } = GRADES[verdict.grade];
  return (
    <>
      <p>
        <strong>{verdict.headline}</strong> <span className={mark}>{label}</span>
      </p>
      <ul className={styles.sentences}>
        {verdict.sentences.map((sentence) => (
          <li key={sentence}>{sentence}</li>
        ))}
      </ul>
      <p className="soft">
        On a day in each of {formatNumber(origins.length)} past years the model was fitted to what
        was on record by then, and said what the 12 months after would bring:{" "}
        {formatNumber(calibration.heaters)} chances in all.
      </p>
      <div className="columns">
        <CalibrationChart backTest={backTest} />
        <YearsChart backTest={backTest} />
      </div>
      <div className="columns">
        <GroupsTable backTest={backTest} />
        <ScoresTable backTest={backTest} />
      </div>
      <details>
        <summary>How this is counted</summary>
        <div className="section">
          <p>
            A heater that ended otherwise within the 12 months ({formatNumber(endedOtherwise)} did)
            counts for the part in which it was watched. A failure known to a bracket of days counts
            in its middle. The same heaters come back year after year, so the years are not
            independent; the intervals treat them as if they were.
          </p>
          <p>
            Brier score: the mean squared difference between chance and outcome. Logarithmic score:
            the mean of −ln of the chance given to what happened. Lower is better for both, and both
            only compare ways of saying chances about the same heaters.
          </p>
        </div>
      </details>
    </>
  );
}

function NoBackTest({
  fit: { backTestStatus, backTestProgress, backTestMessage },
}: {
  readonly fit: Pick<FitRow, "backTestStatus" | "backTestProgress" | "backTestMessage">;
}) {
  switch (backTestStatus) {
    case "queued":
      return <p className="soft">The back-test waits for a worker.</p>;
    case "running":
      return (
        <p className="soft">
          The model is being tried on past years: {formatShare(backTestProgress, 0)} done. Until
          then nothing is said about how good it is.
        </p>
      );
    default:
      return (
        <p className="soft">
          {backTestMessage ?? "The model has not been tried on past years."} Nothing is said about
          how good it is.
        </p>
      );
  }
}

function CalibrationChart({ backTest }: { readonly backTest: BackTestReport }) {
  const { groups } = backTest.calibration;
  const agreeing = groups.filter(({ agrees }) => agrees).length;
  return (
    <Chart
      title="Chance said and share that failed"
      summary={`Heaters in ${groups.length} groups of equal size, from the lowest chance to the highest. In ${agreeing} of them the chance said lies within the 90 % interval (Wilson) around what happened.`}
      labelsName="Group by chance"
      labels={groups.map((_, k) => String(k + 1))}
      unit="share failing within 12 months"
      format="share"
      series={[
        {
          label: "Happened",
          values: groups.map(({ observedShare }) => observedShare),
          ink: "copper",
          kind: "line",
          band: {
            low: groups.map(({ interval }) => interval.lower),
            high: groups.map(({ interval }) => interval.upper),
          },
        },
        {
          label: "Said",
          values: groups.map(({ expectedShare }) => expectedShare),
          ink: "ink",
          kind: "line",
          isDashed: true,
        },
      ]}
    />
  );
}

function YearsChart({ backTest: { years, calibration } }: { readonly backTest: BackTestReport }) {
  return (
    <Chart
      title="Failures said and happened, year by year"
      summary={`${formatNumber(calibration.expected)} said, ${formatNumber(calibration.observed)} happened; luck alone allows ${formatNumber(calibration.expectedBand.lower)} to ${formatNumber(calibration.expectedBand.upper)}.`}
      labelsName="12 months from"
      labels={years.map(({ origin }) => origin.slice(0, 7))}
      unit="failures in 12 months"
      format="decimal"
      series={[
        {
          label: "Said",
          values: years.map(({ expected }) => expected),
          ink: "ink",
          kind: "line",
        },
        { label: "Happened", values: years.map(({ observed }) => observed), ink: "copper" },
      ]}
    />
  );
}

function GroupsTable({ backTest }: { readonly backTest: BackTestReport }) {
  return (
    <LedgerFrame label="Calibration by tenths of the heaters">
      <table className="ledger">
        <thead>
          <tr>
            <th scope="col">Group</th>
            <th scope="col" className="number">
              Heaters
            </th>
            <th scope="col" className="number">
              Said
            </th>
            <th scope="col" className="number">
              Happened
            </th>
            <th scope="col" className="number">
              Share
            </th>
            <th scope="col" className="number">
              90 % interval
            </th>
            <th scope="col">Chance said</th>
          </tr>
        </thead>
        <tbody>
          {backTest.calibration.groups.map((group, k) => (
            // biome-ignore lint/suspicious/noArrayIndexKey: a group is its place from low to high
            <tr key={k}>
              <th scope="row">{k + 1}</th>
              <td className="number">{formatNumber(group.heaters)}</td>
              <td className="number">{formatNumber(group.expected, 1)}</td>
              <td className="number">{formatNumber(group.observed)}</td>
              <td className="number">{formatShare(group.observedShare)}</td>
              <td className="number">
                {formatShare(group.interval.lower)} to {formatShare(group.interval.upper)}
              </td>
              <td>
                {group.agrees ? (
                  `${formatShare(group.expectedShare)}, fits`
                ) : (
                  <span className="mark mark--attention">
                    {formatShare(group.expectedShare)},{" "}
                    {group.expectedShare > group.interval.upper ? "too high" : "too low"}
                  </span>
                )}
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </LedgerFrame>
  );
}

function ScoresTable({ backTest }: { readonly backTest: BackTestReport }) {
  const { calibration, ageOnly, replaceAtTen } = backTest;
  return (
    <LedgerFrame label="Scores against two simpler ways">
      <table className="ledger">
        <thead>
          <tr>
            <th scope="col">Way of saying chances (lower is better)</th>
            <th scope="col" className="number">
              Brier score
            </th>
            <th scope="col" className="number">
              Logarithmic score
            </th>
            <th scope="col">The model against it</th>
          </tr>
        </thead>
        <tbody>
          <ScoreRow name="This model" scores={calibration.scores} />
          <ScoreRow name="Age and kind alone" scores={ageOnly.scores} comparison={ageOnly} />
          <ScoreRow
            name="Past ten years of age or not"
            scores={replaceAtTen.scores}
            comparison={replaceAtTen}
          />
        </tbody>
      </table>
    </LedgerFrame>
  );
}

function ScoreRow({
  name,
  scores,
  comparison,
}: {
  readonly name: string;
  readonly scores: Scores;
  readonly comparison?: BaselineComparison;
}) {
  return (
    <tr>
      <th scope="row">{name}</th>
      <td className="number">{scores.brier.toFixed(4)}</td>
      <td className="number">{scores.logarithmic.toFixed(4)}</td>
      <td>{comparison ? comparisonInWords(comparison) : "–"}</td>
    </tr>
  );
}

function comparisonInWords({ brierSaved, modelIsBetter, baselineIsBetter }: BaselineComparison) {
  const percent = `${Math.abs(100 * brierSaved).toFixed(1)} %`;
  if (modelIsBetter) return `better by ${percent}`;
  if (baselineIsBetter) {
    return <span className="mark mark--attention">worse by {percent}</span>;
  }
  return `no telling apart (${percent} ${brierSaved >= 0 ? "better" : "worse"})`;
}
