import type { Metadata } from "next";
import Link from "next/link";
import { Caution } from "@/app/_components/caution";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import { formatDay } from "@/app/_lib/format";
import { requireViewer } from "@/app/_lib/viewer";
import { PrintButton } from "@/app/(desk)/upkeep/rounds/_components/print-button";
import styles from "@/app/(desk)/upkeep/rounds/_components/rounds.module.css";
import { findRoundOrStop } from "@/app/(desk)/upkeep/rounds/_lib/find-round";
import { accessInWords } from "@/app/(desk)/upkeep/rounds/_lib/words";
import { CAUTIONS, type HazardousAct } from "@/lib/core/heaters/cautions";
import { PLACE_LABELS, type Place, TASK_LABELS } from "@/lib/core/heaters/vocabulary";
import { clockTime } from "@/lib/core/upkeep/entry-notice";
import { FINDING_LABELS, FINDINGS } from "@/lib/core/upkeep/findings";
import { cautionOfTask } from "@/lib/core/upkeep/task-cautions";

export const metadata: Metadata = { title: "Sheet of a round" };

/** The round on paper: a box to tick for every task, room for what was found. */
export default async function SheetPage({
  params,
}: {
  readonly params: Promise<{ readonly id: string }>;
}) {
  const { id } = await params;
  const { round, stops } = await findRoundOrStop(await requireViewer(), id);
  const acts = new Set<HazardousAct>();
  for (const { tasks } of stops) {
    for (const { task } of tasks) {
      const act = cautionOfTask(task);
      if (act) acts.add(act);
    }
  }
  return (
    <>
      <div className={`actions ${styles.screenOnly}`}>
        <PrintButton />
        <Link className="button" href={`/upkeep/rounds/${id}`}>
          Back to the round
        </Link>
      </div>
      <div>
        <h1>
          {round.property}: {round.name}
        </h1>
        <p>
          {formatDay(round.plannedOn)}, from {clockTime(round.startMinute)}. Person:{" "}
          {round.assignee ?? "____________________"}
        </p>
      </div>
      {[...acts].map((act) => (
        <Caution key={act}>{CAUTIONS[act]}</Caution>
      ))}
      <LedgerFrame label="Stops">
        <table className="ledger">
          <thead>
            <tr>
              <th scope="col">#</th>
              <th scope="col">Home</th>
              <th scope="col">Task and finding</th>
              <th scope="col">Minutes, parts, note</th>
            </tr>
          </thead>
          <tbody>
            {stops.map((stop) => (
              <tr key={stop.id} className={styles.row}>
                <td>
                  {stop.position + 1}
                  <div className="small">{clockTime(stop.arriveMinute)}</div>
                </td>
                <th scope="row">
                  {stop.building}, {stop.label}
                  {stop.floor !== null && `, floor ${stop.floor}`}
                  <div className="small">{accessInWords(stop.access)}</div>
                  <div className="small">
                    <span className={styles.box} />
                    No access
                  </div>
                </th>
                <td>
                  {stop.tasks.map(({ heaterId, tag, place, task }) => (
                    <div key={`${heaterId} ${task}`}>
                      <span className={styles.box} />
                      {TASK_LABELS[task]}, {tag} (
                      {(PLACE_LABELS[place as Place] ?? place).toLowerCase()})
                      <div className={`small ${styles.findings}`}>
                        {FINDINGS[task].map((finding) => (
                          <span key={finding}>
                            <span className={styles.box} />
                            {FINDING_LABELS[finding]}{" "}
                          </span>
                        ))}
                      </div>
                    </div>
                  ))}
                </td>
                <td className={styles.blank} aria-label="to be filled in" />
              </tr>
            ))}
          </tbody>
        </table>
      </LedgerFrame>
    </>
  );
}
