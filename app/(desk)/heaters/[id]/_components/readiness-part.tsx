import { Caution } from "@/app/_components/caution";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import { formatDay } from "@/app/_lib/format";
import { CAUTIONS } from "@/lib/core/heaters/cautions";
import {
  ANSWER_LABELS,
  type Answer,
  isCombustion,
  READINESS_LABELS,
} from "@/lib/core/heaters/vocabulary";
import type { HeaterPage } from "@/lib/services/heater-page";

const MARKS: Readonly<Record<Answer, string>> = {
  yes: "mark mark--good",
  no: "mark mark--attention",
  unknown: "mark",
};

/** What the place offers to a heater that may come after. */
export function ReadinessPart({ page }: { readonly page: HeaterPage }) {
  const { readiness, entry } = page;
  const hasNotes = readiness.some(({ note }) => note !== null);
  const open = readiness.filter(({ answer }) => answer === "unknown").length;
  return (
    <section className="section" aria-labelledby="readiness">
      <h2 id="readiness">Readiness of the place</h2>
      <p className="soft">
        {open === 0
          ? "Every item of the site survey is answered."
          : `${open} of ${readiness.length} items are not known. An item that is not known holds back a firm line of a plan, not a budgeted one.`}
      </p>
      <LedgerFrame label="Readiness of the place">
        <table className="ledger">
          <thead>
            <tr>
              <th scope="col">Item</th>
              <th scope="col">Answer</th>
              <th scope="col">Looked at</th>
              {hasNotes && <th scope="col">Note</th>}
            </tr>
          </thead>
          <tbody>
            {readiness.map((line) => (
              <tr key={line.item}>
                <th scope="row">{READINESS_LABELS[line.item]}</th>
                <td>
                  <span className={MARKS[line.answer]}>{ANSWER_LABELS[line.answer]}</span>
                </td>
                <td>
                  {line.observedOn
                    ? formatDay(line.observedOn)
                    : line.isAsked
                      ? "day not noted"
                      : "never"}
                  {line.observedBy && <span className="soft">, {line.observedBy}</span>}
                </td>
                {hasNotes && <td>{line.note}</td>}
              </tr>
            ))}
          </tbody>
        </table>
      </LedgerFrame>
      <Caution>{CAUTIONS.electrical}</Caution>
      {isCombustion(entry.technology) && <Caution>{CAUTIONS["gas-capoff"]}</Caution>}
    </section>
  );
}
