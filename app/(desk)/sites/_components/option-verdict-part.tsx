import { LedgerFrame } from "@/app/_components/ledger-frame";
import { formatMoney, formatNumber } from "@/app/_lib/format";
import { ELECTRICIAN_DECIDES } from "@/lib/core/heaters/electrical";
import { READINESS_LABELS } from "@/lib/core/heaters/vocabulary";
import type { OptionVerdict } from "@/lib/core/planning/option-verdict";
import { COST_PART_LABELS } from "@/lib/core/planning/options";
import { gallonsToLitres } from "@/lib/core/shared/units";
import { AnswerSign } from "./answer-sign";
import styles from "./sites.module.css";
import { VerdictMark } from "./verdict-mark";

/** One option at one place, opened to what it is made of. */
export function OptionVerdictPart({
  verdict,
  headroomCircuits,
}: {
  readonly verdict: OptionVerdict;
  readonly headroomCircuits: number | null;
}) {
  const { cost, sizing, items, against, remarks, circuitLoad, fitsService } = verdict;
  const { minimum } = sizing;
  const gallons = (value: number) =>
    `${formatNumber(value)} gal (${formatNumber(gallonsToLitres(value))} L)`;
  return (
    <details className={styles.option}>
      <summary>
        <span className={styles.optionHead} style={{ display: "inline-flex" }}>
          <strong>{verdict.name}</strong> <VerdictMark state={verdict.state} />{" "}
          <span>{formatMoney(cost.totalCents)}</span>
        </span>
      </summary>
      {against.length > 0 && <p className="notice notice--attention">{against.join(" ")}</p>}
      <div className="columns">
        <LedgerFrame label={`What ${verdict.name} needs`}>
          <table className="ledger">
            <caption>What it needs here</caption>
            <thead>
              <tr>
                <th scope="col">Item</th>
                <th scope="col">Answer</th>
                <th scope="col">Put right by</th>
                <th scope="col" className="number">
                  Expected
                </th>
              </tr>
            </thead>
            <tbody>
              {items.map((item) => (
                <tr key={item.item}>
                  <th scope="row">{READINESS_LABELS[item.item]}</th>
                  <td>
                    <AnswerSign answer={item.answer} from={item.from} />
                  </td>
                  <td>
                    {item.answer === "yes"
                      ? "–"
                      : item.part
                        ? COST_PART_LABELS[item.part]
                        : "nothing in this option"}
                  </td>
                  <td className="number">
                    {item.expectedCents > 0 ? formatMoney(item.expectedCents) : "–"}
                  </td>
                </tr>
              ))}
            </tbody>
          </table>
        </LedgerFrame>
        <dl className="facts">
          <dt>Swap</dt>
          <dd>{formatMoney(cost.swapCents)}</dd>
          <dt>Work here</dt>
          <dd>
            {formatMoney(cost.workCents)}, from {formatMoney(cost.workLowCents)} to{" "}
            {formatMoney(cost.workHighCents)}
          </dd>
          <dt>Of it not seen</dt>
          <dd>{formatMoney(cost.unseenCents)}</dd>
          <dt>Incentives</dt>
          <dd>{formatMoney(cost.incentiveCents)}</dd>
          <dt>Total</dt>
          <dd>{formatMoney(cost.totalCents)}</dd>
          <dt>Busiest hour</dt>
          <dd>{sizing.demandGal === null ? "not known" : gallons(sizing.demandGal)}</dd>
          <dt>First-hour rating</dt>
          <dd>
            {sizing.firstHourGal === null
              ? "not known"
              : `${gallons(sizing.firstHourGal)}, ${sizing.firstHourEvidence === "nameplate" ? "as rated" : "estimated"}`}
          </dd>
          <dt>Least storage</dt>
          <dd>
            {minimum === null
              ? "no row of the table"
              : `${gallons(minimum.storageGal)}: ${sizing.meetsMinimumStorage === false ? "not met" : "met"}`}
          </dd>
          <dt>Service</dt>
          <dd>
            {circuitLoad === 0
              ? "no new circuit"
              : `${formatNumber(circuitLoad, 1)} of ${headroomCircuits === null ? "no known limit" : `${headroomCircuits} new circuits`}${fitsService === false ? ": needs an upgrade first" : ""}`}
          </dd>
        </dl>
      </div>
      {sizing.notes.length > 0 && <p className="small soft">{sizing.notes.join(" ")}</p>}
      {remarks.length > 0 && (
        <ul className="small">
          {remarks.map((remark) => (
            <li key={remark}>{remark}</li>
          ))}
        </ul>
      )}
      {circuitLoad > 0 && <p className="small soft">{ELECTRICIAN_DECIDES}</p>}
    </details>
  );
}
