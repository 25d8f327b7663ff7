import type { Metadata } from "next";
import Link from "next/link";
import { PageHeading } from "@/app/_components/page-heading";
import { formatDay } from "@/app/_lib/format";
import { requireViewer } from "@/app/_lib/viewer";
import { PrintButton } from "@/app/(desk)/upkeep/rounds/_components/print-button";
import styles from "@/app/(desk)/upkeep/rounds/_components/rounds.module.css";
import { findRoundOrStop } from "@/app/(desk)/upkeep/rounds/_lib/find-round";
import { TASK_LABELS } from "@/lib/core/heaters/vocabulary";
import { clockTime, fillNotice, NOTICE_REMINDER, noticeSpan } from "@/lib/core/upkeep/entry-notice";

export const metadata: Metadata = { title: "Entry notices" };

/** One notice a home, each on a page of its own when printed. */
export default async function NoticesPage({
  params,
}: {
  readonly params: Promise<{ readonly id: string }>;
}) {
  const { id } = await params;
  const viewer = await requireViewer();
  const { round, stops, noticeWording, noticeBy } = await findRoundOrStop(viewer, id);
  const homes = stops.filter(({ unitId, status }) => unitId !== null && status === "open");
  return (
    <>
      <div className={`section ${styles.screenOnly}`}>
        <PageHeading
          title="Entry notices"
          question={`${homes.length} homes of ${round.property}: ${round.name}, to be given by ${formatDay(noticeBy)}.`}
        >
          <PrintButton />
          <Link className="button" href="/upkeep/rules#notice">
            Change the wording
          </Link>
          <Link className="button" href={`/upkeep/rounds/${id}`}>
            Back to the round
          </Link>
        </PageHeading>
        <p className="notice notice--attention">
          <strong>Local law.</strong> {NOTICE_REMINDER}
        </p>
      </div>
      {homes.length === 0 && (
        <p className="empty">
          No home of this round is still to be entered, so there is no notice.
        </p>
      )}
      {homes.map((stop) => {
        const window =
          stop.fromMinute === null || stop.toMinute === null
            ? null
            : { fromMinute: stop.fromMinute, toMinute: stop.toMinute };
        const span = noticeSpan(stop.arriveMinute, window);
        const tasks = [...new Set(stop.tasks.map(({ task }) => TASK_LABELS[task].toLowerCase()))];
        return (
          <article key={stop.id} className={styles.notice}>
            {fillNotice(noticeWording, {
              organization: viewer.organizationName,
              property: round.property,
              building: stop.building,
              home: stop.label,
              day: formatDay(round.plannedOn),
              from: clockTime(Math.max(span.fromMinute, round.startMinute)),
              to: clockTime(span.toMinute),
              tasks: tasks.join(", "),
              minutes: String(stop.workMinutes),
              person: round.assignee ?? "a technician",
            })}
          </article>
        );
      })}
    </>
  );
}
