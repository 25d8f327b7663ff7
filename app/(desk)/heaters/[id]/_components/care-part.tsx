import Link from "next/link";
import { Caution } from "@/app/_components/caution";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import { formatDay } from "@/app/_lib/format";
import { CAUTIONS } from "@/lib/core/heaters/cautions";
import { TASK_LABELS } from "@/lib/core/heaters/vocabulary";
import type { DueState } from "@/lib/core/upkeep/due-tasks";
import { FINDING_LABELS, isFindingOf } from "@/lib/core/upkeep/findings";
import type { HeaterPage } from "@/lib/services/heater-page";

const STATES: Readonly<Record<DueState, { readonly words: string; readonly mark: string }>> = {
  overdue: { words: "Overdue", mark: "mark mark--attention" },
  due: { words: "Due", mark: "mark mark--attention" },
  soon: { words: "Soon", mark: "mark" },
  later: { words: "Later", mark: "mark mark--good" },
  "leave-alone": { words: "Leave alone", mark: "mark" },
};

/** What is due on it, and what was done and found. */
export function CarePart({ page }: { readonly page: HeaterPage }) {
  const { due, visits } = page;
  return (
    <section className="section" aria-labelledby="care">
      <h2 id="care">Upkeep</h2>
      <div className="columns">
        {due.length > 0 && (
          <LedgerFrame label="Work due">
            <table className="ledger">
              <caption>Work due</caption>
              <thead>
                <tr>
                  <th scope="col">Task</th>
                  <th scope="col">Due</th>
                  <th scope="col">Why</th>
                </tr>
              </thead>
              <tbody>
                {due.map((task) => (
                  <tr key={task.task}>
                    <th scope="row">{TASK_LABELS[task.task]}</th>
                    <td>
                      <span className={STATES[task.state].mark}>{STATES[task.state].words}</span>
                      {task.state !== "leave-alone" && <div>{formatDay(task.dueOn)}</div>}
                    </td>
                    <td>{task.why}</td>
                  </tr>
                ))}
              </tbody>
            </table>
          </LedgerFrame>
        )}
        <LedgerFrame label="Visits">
          <table className="ledger">
            <caption>
              {visits.length === 0
                ? "No visit is on record."
                : `Visits, ${visits.length} on record`}
            </caption>
            {visits.length > 0 && (
              <>
                <thead>
                  <tr>
                    <th scope="col">Day</th>
                    <th scope="col">Done and found</th>
                  </tr>
                </thead>
                <tbody>
                  {visits.map((visit) => (
                    <tr key={visit.id}>
                      <th scope="row">{formatDay(visit.visitedOn)}</th>
                      <td>
                        {visit.tasks.map(({ task, finding }) => (
                          <div key={task}>
                            {TASK_LABELS[task]}
                            {finding !== null &&
                              `: ${isFindingOf(task, finding) ? FINDING_LABELS[finding].toLowerCase() : finding}`}
                          </div>
                        ))}
                        {visit.note && <div className="soft">{visit.note}</div>}
                        <div className="soft">
                          {[
                            visit.performedBy,
                            visit.minutes === null ? null : `${visit.minutes} minutes`,
                          ]
                            .filter(Boolean)
                            .join(", ")}
                        </div>
                      </td>
                    </tr>
                  ))}
                </tbody>
              </>
            )}
          </table>
        </LedgerFrame>
      </div>
      {page.mayRecordVisits && due.length > 0 && (
        <p>
          Work is recorded as done in <Link href="/upkeep">Upkeep</Link>.
        </p>
      )}
      {[...new Set(due.flatMap(({ caution }) => caution ?? []))].map((act) => (
        <Caution key={act}>{CAUTIONS[act]}</Caution>
      ))}
    </section>
  );
}
