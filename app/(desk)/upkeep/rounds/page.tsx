import type { Metadata } from "next";
import Link from "next/link";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import { PageHeading } from "@/app/_components/page-heading";
import { formatDay, formatNumber } from "@/app/_lib/format";
import { today } from "@/app/_lib/today";
import { requireViewer } from "@/app/_lib/viewer";
import { addDays } from "@/lib/core/shared/calendar-day";
import { type RoundSummary, readRounds } from "@/lib/services/rounds";
import { duration, ROUND_STATUS_LABELS } from "./_lib/words";

export const metadata: Metadata = { title: "Rounds" };

export default async function RoundsPage() {
  const day = today();
  const { coming, past, mayEdit } = await readRounds(await requireViewer(), day);
  return (
    <>
      <PageHeading title="Rounds" question="Who goes where, and when?">
        {mayEdit && (
          <Link className="button button--primary" href="/upkeep/rounds/new">
            Make rounds
          </Link>
        )}
      </PageHeading>
      <section className="section" aria-labelledby="coming">
        <h2 id="coming">To come</h2>
        {coming.length === 0 ? (
          <div className="empty">
            <p>
              No round is planned. A round groups the work that falls due, so that each home is
              entered once.
            </p>
            {mayEdit && (
              <Link className="button" href="/upkeep/rounds/new">
                Make rounds
              </Link>
            )}
          </div>
        ) : (
          <Table label="Rounds to come" rounds={coming} day={day} />
        )}
      </section>
      {past.length > 0 && (
        <section className="section" aria-labelledby="past">
          <h2 id="past">Over</h2>
          <Table label="Rounds that are over" rounds={past} day={day} />
        </section>
      )}
    </>
  );
}

function Table({
  label,
  rounds,
  day,
}: {
  readonly label: string;
  readonly rounds: readonly RoundSummary[];
  readonly day: string;
}) {
  return (
    <LedgerFrame label={label}>
      <table className="ledger">
        <thead>
          <tr>
            <th scope="col">Day</th>
            <th scope="col">Round</th>
            <th scope="col">Person</th>
            <th scope="col" className="number">
              Homes
            </th>
            <th scope="col" className="number">
              Tasks
            </th>
            <th scope="col" className="number">
              Takes
            </th>
            <th scope="col">Notices</th>
            <th scope="col">State</th>
          </tr>
        </thead>
        <tbody>
          {rounds.map((round) => (
            <tr key={round.id}>
              <td>{formatDay(round.plannedOn)}</td>
              <th scope="row">
                <Link href={`/upkeep/rounds/${round.id}`}>
                  {round.property}: {round.name}
                </Link>
              </th>
              <td>{round.assignee ?? <span className="mark mark--attention">Nobody yet</span>}</td>
              <td className="number">
                {formatNumber(round.stopCount - round.openCount)} of {formatNumber(round.stopCount)}
              </td>
              <td className="number">{formatNumber(round.taskCount)}</td>
              <td className="number">{duration(round.finishMinutes)}</td>
              <td>
                <Notices round={round} day={day} />
              </td>
              <td>
                {round.status === "planned" && round.plannedOn < day ? (
                  <span className="mark mark--attention">Open since its day</span>
                ) : (
                  ROUND_STATUS_LABELS[round.status]
                )}
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </LedgerFrame>
  );
}

function Notices({ round, day }: { readonly round: RoundSummary; readonly day: string }) {
  if (round.noticesGivenOn !== null) return <>given {formatDay(round.noticesGivenOn)}</>;
  if (round.status !== "planned") return <span className="soft">not noted</span>;
  const by = addDays(round.plannedOn, -round.noticeDays);
  if (by < day) return <span className="mark mark--attention">were due {formatDay(by)}</span>;
  return <>by {formatDay(by)}</>;
}
