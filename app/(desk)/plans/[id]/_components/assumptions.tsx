import { LedgerFrame } from "@/app/_components/ledger-frame";
import { formatNumber } from "@/app/_lib/format";
import styles from "@/app/(desk)/plans/_components/plans.module.css";
import { EVIDENCE_LABELS } from "@/lib/services/option-form";
import {
  ASSUMPTION_GROUP_LABELS,
  ASSUMPTION_GROUPS,
  type AssumptionNote,
} from "@/lib/services/plan-assumptions";
import type { PlanSummary } from "@/lib/services/plan-summary";

/** Everything that the plan takes as given, counted, with what it rests on. */
export function Assumptions({ summary }: { readonly summary: PlanSummary }) {
  const { assumptions, headline } = summary;
  const assumed = assumptions.filter(({ evidence }) => evidence === "assumed").length;
  const gaps = assumptions.filter(({ group }) => group === "record");
  const [largest] = gaps;
  return (
    <section className="section">
      <h2>What the plan rests on</h2>
      <p>
        {formatNumber(assumptions.length)} inputs beside the record itself; {formatNumber(assumed)}{" "}
        of them are assumptions of ours to be replaced by yours
        {largest && largest.count !== null && (
          <>
            , and the record has {formatNumber(gaps.length)} kinds of gaps, the most frequent for{" "}
            {formatNumber(largest.count)} of {formatNumber(headline.heaters)} heaters
          </>
        )}
        .
      </p>
      {ASSUMPTION_GROUPS.map((group) => {
        const notes = assumptions.filter((note) => note.group === group);
        if (notes.length === 0) return null;
        return (
          <details key={group}>
            <summary>
              {ASSUMPTION_GROUP_LABELS[group]} ({notes.length})
            </summary>
            <NoteTable label={ASSUMPTION_GROUP_LABELS[group]} notes={notes} />
          </details>
        );
      })}
    </section>
  );
}

function NoteTable({
  label,
  notes,
}: {
  readonly label: string;
  readonly notes: readonly AssumptionNote[];
}) {
  return (
    <LedgerFrame label={label}>
      <table className={`ledger ${styles.medium}`}>
        <thead>
          <tr>
            <th scope="col">What</th>
            <th scope="col" className="number">
              Concerns
            </th>
            <th scope="col">Evidence</th>
            <th scope="col">Source</th>
          </tr>
        </thead>
        <tbody>
          {notes.map((note) => (
            <tr key={note.text}>
              <th scope="row">{note.text}</th>
              <td className="number">
                {note.count === null
                  ? "all"
                  : `${formatNumber(note.count)} of ${formatNumber(note.of ?? 0)}`}
              </td>
              <td>
                {note.evidence === null ? (
                  <span className="mark mark--attention">Not known</span>
                ) : note.evidence === "assumed" ? (
                  <span className="mark mark--attention">{EVIDENCE_LABELS.assumed}</span>
                ) : (
                  EVIDENCE_LABELS[note.evidence]
                )}
              </td>
              <td>{note.source ?? "–"}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </LedgerFrame>
  );
}
