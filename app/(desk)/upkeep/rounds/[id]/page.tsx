import type { Metadata } from "next";
import Link from "next/link";
import { Figure, Figures } from "@/app/_components/figure";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import { PageHeading } from "@/app/_components/page-heading";
import { formatDay, formatNumber } from "@/app/_lib/format";
import { today } from "@/app/_lib/today";
import { requireViewer } from "@/app/_lib/viewer";
import { AccessForm } from "@/app/(desk)/upkeep/rounds/_components/access-form";
import {
  AssignForm,
  MoveForm,
  RoundActs,
} from "@/app/(desk)/upkeep/rounds/_components/round-controls";
import { findRoundOrStop } from "@/app/(desk)/upkeep/rounds/_lib/find-round";
import {
  accessInWords,
  boundInWords,
  duration,
  exactMinutes,
  isShutOn,
  ROUND_STATUS_LABELS,
  STOP_STATUS_LABELS,
} from "@/app/(desk)/upkeep/rounds/_lib/words";
import { TASK_LABELS } from "@/lib/core/heaters/vocabulary";
import { isoWeekday } from "@/lib/core/upkeep/arrange-week";
import { clockTime } from "@/lib/core/upkeep/entry-notice";
import { FINDING_LABELS, type Finding } from "@/lib/core/upkeep/findings";
import { WEEKDAY_LABELS } from "@/lib/services/round-form";
import type { RoundSummary, StopRow } from "@/lib/services/rounds";

export const metadata: Metadata = { title: "Round" };

export default async function RoundPage({
  params,
  searchParams,
}: {
  readonly params: Promise<{ readonly id: string }>;
  readonly searchParams: Promise<Readonly<Record<string, string | string[] | undefined>>>;
}) {
  const { id } = await params;
  const { access } = await searchParams;
  const { round, stops, people, mayEdit, noticeBy } = await findRoundOrStop(
    await requireViewer(),
    id,
  );
  const day = today();
  const closed = stops.filter(({ status }) => status !== "open").length;
  const late = stops.filter(
    ({ toMinute, arriveMinute, workMinutes }) =>
      toMinute !== null && arriveMinute + workMinutes > toMinute,
  ).length;
  return (
    <>
      <PageHeading
        title={`${round.property}: ${round.name}`}
        question={`${WEEKDAY_LABELS[isoWeekday(round.plannedOn) - 1]}, ${formatDay(round.plannedOn)}, from ${clockTime(round.startMinute)}. ${ROUND_STATUS_LABELS[round.status]}. ${round.assignee ?? "Nobody yet"}.`}
      >
        {mayEdit && round.status === "planned" && (
          <a className="button button--primary" href={`/upkeep/rounds/${id}/walk`}>
            Walk it on a phone
          </a>
        )}
        <Link className="button" href={`/upkeep/rounds/${id}/sheet`}>
          Sheet to print
        </Link>
        <Link className="button" href={`/upkeep/rounds/${id}/notices`}>
          Entry notices
        </Link>
        <a className="button" href={`/upkeep/rounds/${id}/round.ics`} download>
          Calendar file
        </a>
      </PageHeading>

      <Figures>
        <Figure
          label="Homes done"
          value={`${formatNumber(closed)} of ${formatNumber(stops.length)}`}
        />
        <Figure label="Tasks" value={formatNumber(round.taskCount)} />
        <Figure label="Takes" value={duration(round.finishMinutes)}>
          <p>
            From the first door to the end of the last stop;{" "}
            {boundInWords(round.finishMinutes, round.finishBoundMinutes)}.
          </p>
        </Figure>
        <Figure label="On the way" value={`${exactMinutes(round.travelMinutes)} min`}>
          <p>
            {boundInWords(round.travelMinutes, round.travelBoundMinutes)}. The ways are counted by
            doors, floors and buildings; how long each takes is under{" "}
            <Link href="/upkeep/rules#work">Rules</Link>.
          </p>
        </Figure>
        <Figure
          label="Entry notices"
          value={round.noticesGivenOn ? formatDay(round.noticesGivenOn) : "not given"}
        >
          <p>
            {round.noticeDays} days of notice: to be given by {formatDay(noticeBy)}. Local law and
            the lease decide how long is long enough.
          </p>
        </Figure>
      </Figures>

      {round.status === "planned" && round.noticesGivenOn === null && noticeBy <= day && (
        <p className="notice notice--attention">
          Entry notices {noticeBy < day ? `were due ${formatDay(noticeBy)}` : "are due today"}. Give
          them, or move the round.
        </p>
      )}
      {late > 0 && (
        <p className="notice notice--attention">
          {formatNumber(late)} {late === 1 ? "home cannot" : "homes cannot"} be done within the time
          that it is open, in this order.
        </p>
      )}

      {mayEdit && (
        <div className="section">
          {round.status === "planned" && (
            <div className="actions">
              <AssignForm roundId={id} people={people} assigneeId={round.assigneeId} />
              <MoveForm roundId={id} day={round.plannedOn} />
            </div>
          )}
          <RoundActs
            roundId={id}
            status={round.status}
            isUntouched={closed === 0}
            noticesGiven={round.noticesGivenOn !== null}
          />
        </div>
      )}

      <section className="section" aria-labelledby="stops">
        <h2 id="stops">Stops</h2>
        <LedgerFrame label="Stops">
          <table className="ledger">
            <thead>
              <tr>
                <th scope="col" className="number">
                  #
                </th>
                <th scope="col">Arrive</th>
                <th scope="col">Home</th>
                <th scope="col">Tasks</th>
                <th scope="col" className="number">
                  Minutes
                </th>
                <th scope="col">Access</th>
                <th scope="col">State</th>
              </tr>
            </thead>
            <tbody>
              {stops.map((stop) => (
                <Stop
                  key={stop.id}
                  stop={stop}
                  round={round}
                  mayEdit={mayEdit}
                  isAccessOpen={access === stop.id}
                />
              ))}
            </tbody>
          </table>
        </LedgerFrame>
      </section>
    </>
  );
}

function Stop({
  stop,
  round,
  mayEdit,
  isAccessOpen,
}: {
  readonly stop: StopRow;
  readonly round: RoundSummary;
  readonly mayEdit: boolean;
  readonly isAccessOpen: boolean;
}) {
  return (
    <tr>
      <td className="number">{stop.position + 1}</td>
      <td>{clockTime(stop.arriveMinute)}</td>
      <th scope="row">
        {stop.building}, {stop.label}
        {stop.floor !== null && <div className="soft small">floor {stop.floor}</div>}
      </th>
      <td>
        {stop.tasks.map(({ heaterId, tag, task }) => (
          <div key={`${heaterId} ${task}`}>
            {TASK_LABELS[task]} <Link href={`/heaters/${heaterId}`}>{tag}</Link>
          </div>
        ))}
      </td>
      <td className="number">{stop.workMinutes}</td>
      <td>
        {accessInWords(stop.access) ?? "any time"}
        {isShutOn(stop.access, round.plannedOn) && (
          <div className="mark mark--attention">not open on this day</div>
        )}
        {mayEdit && stop.unitId !== null && isAccessOpen && (
          <AccessForm unitId={stop.unitId} access={stop.access} />
        )}
        {mayEdit && stop.unitId !== null && !isAccessOpen && (
          <div>
            <Link
              className="small"
              href={`/upkeep/rounds/${round.id}?access=${stop.id}`}
              scroll={false}
            >
              Change …
            </Link>
          </div>
        )}
      </td>
      <td>
        <span
          className={
            stop.status === "done"
              ? "mark mark--good"
              : stop.status === "no-access"
                ? "mark mark--attention"
                : "mark"
          }
        >
          {STOP_STATUS_LABELS[stop.status]}
        </span>
        {stop.entries.map((entry) => (
          <div key={entry.key} className="small">
            {entry.personName}
            {entry.visits.flatMap(({ visitId, tasks, photoIds, note }) => [
              ...tasks.map(({ task, finding }) => (
                <div key={`${visitId} ${task}`}>
                  {TASK_LABELS[task]}
                  {finding && `: ${(FINDING_LABELS[finding as Finding] ?? finding).toLowerCase()}`}
                </div>
              )),
              ...(note ? [<div key={`${visitId} note`}>{note}</div>] : []),
              ...photoIds.map((photoId, index) => (
                <div key={photoId}>
                  <a href={`/api/upkeep/photos/${photoId}`}>Photo {index + 1}</a>
                </div>
              )),
            ])}
          </div>
        ))}
      </td>
    </tr>
  );
}
