import type { Metadata } from "next";
import Link from "next/link";
import { Figure, Figures } from "@/app/_components/figure";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import { PageHeading } from "@/app/_components/page-heading";
import { formatDay, formatNumber } from "@/app/_lib/format";
import { today } from "@/app/_lib/today";
import { requireViewer } from "@/app/_lib/viewer";
import { MakeButton } from "@/app/(desk)/upkeep/rounds/_components/make-button";
import styles from "@/app/(desk)/upkeep/rounds/_components/rounds.module.css";
import { requestOf, searchOf } from "@/app/(desk)/upkeep/rounds/_lib/request";
import {
  accessInWords,
  boundInWords,
  duration,
  exactMinutes,
} from "@/app/(desk)/upkeep/rounds/_lib/words";
import { TASK_KINDS, TASK_LABELS } from "@/lib/core/heaters/vocabulary";
import { isoWeekday, type LeftOver } from "@/lib/core/upkeep/arrange-week";
import { clockTime, NOTICE_REMINDER } from "@/lib/core/upkeep/entry-notice";
import { WEEKDAY_LABELS } from "@/lib/services/round-form";
import { previewRounds, type RoundsPreview } from "@/lib/services/rounds";

export const metadata: Metadata = { title: "Make rounds" };

const REACH_LABELS = {
  overdue: "Homes with overdue work",
  due: "Homes with work overdue or due",
  soon: "Homes with work overdue, due or due soon",
} as const;

const REASON_WORDS: Readonly<Record<LeftOver["reason"], string>> = {
  "not-on-these-days": "not open on these days",
  "longer-than-a-day": "more work than a round holds, or than its window allows",
  "no-room": "no room left on these days",
};

export default async function NewRoundsPage({
  searchParams,
}: {
  readonly searchParams: Promise<Readonly<Record<string, string | string[] | undefined>>>;
}) {
  const viewer = await requireViewer();
  const search = searchOf(await searchParams);
  const preview = await previewRounds(viewer, requestOf(search), today());
  return (
    <>
      <PageHeading
        title="Make rounds"
        question="Which homes, on which days, so that each is entered once?"
      />
      <RequestForm preview={preview} />
      <Outlook preview={preview} address={search.toString()} />
    </>
  );
}

function RequestForm({ preview }: { readonly preview: RoundsPreview }) {
  const { request, properties, buildings, people } = preview;
  return (
    <form className="section" method="get" aria-label="What the rounds are made of">
      <div className="field-grid">
        <div className="field">
          <label htmlFor="property">Property</label>
          <select id="property" name="property" defaultValue={request.property ?? ""}>
            {properties.map(({ id, name }) => (
              <option key={id} value={id}>
                {name}
              </option>
            ))}
          </select>
        </div>
        <div className="field">
          <label htmlFor="building">Building</label>
          <select id="building" name="building" defaultValue={request.building ?? ""}>
            <option value="">All buildings</option>
            {buildings.map(({ id, name }) => (
              <option key={id} value={id}>
                {name}
              </option>
            ))}
          </select>
        </div>
        <div className="field">
          <label htmlFor="reach">Which homes</label>
          <select id="reach" name="reach" defaultValue={request.reach}>
            {Object.entries(REACH_LABELS).map(([value, label]) => (
              <option key={value} value={value}>
                {label}
              </option>
            ))}
          </select>
          <div className="field__hint">
            Once somebody is in a home, everything due within 90 days is done with it.
          </div>
        </div>
        <div className="field">
          <label htmlFor="week">A day of the week</label>
          <input id="week" name="week" type="date" defaultValue={request.week} />
        </div>
        <div className="field">
          <label htmlFor="person">Person</label>
          <select id="person" name="person" defaultValue={request.person ?? ""}>
            <option value="">Nobody yet</option>
            {people.map(({ userId, name }) => (
              <option key={userId} value={userId}>
                {name}
              </option>
            ))}
          </select>
        </div>
        <div className="field">
          <label htmlFor="dayMinutes">Longest round, minutes</label>
          <input
            id="dayMinutes"
            name="dayMinutes"
            type="number"
            min={30}
            max={900}
            defaultValue={request.dayMinutes}
          />
        </div>
        <div className="field">
          <label htmlFor="noticeDays">Days of notice</label>
          <input
            id="noticeDays"
            name="noticeDays"
            type="number"
            min={0}
            max={60}
            defaultValue={request.noticeDays}
          />
          <div className="field__hint">{NOTICE_REMINDER}</div>
        </div>
      </div>
      <fieldset className={styles.choices}>
        <legend>Days</legend>
        {WEEKDAY_LABELS.map((label, index) => (
          <label key={label}>
            <input
              type="checkbox"
              name="days"
              value={index + 1}
              defaultChecked={request.days.includes(index + 1)}
            />
            {label}
          </label>
        ))}
      </fieldset>
      <fieldset className={styles.choices}>
        <legend>Tasks</legend>
        {TASK_KINDS.map((task) => (
          <label key={task}>
            <input
              type="checkbox"
              name="tasks"
              value={task}
              defaultChecked={request.tasks.includes(task)}
            />
            {TASK_LABELS[task]}
          </label>
        ))}
      </fieldset>
      <div className="actions">
        <button className="button" type="submit">
          Show the rounds
        </button>
      </div>
    </form>
  );
}

function Outlook({
  preview,
  address,
}: {
  readonly preview: RoundsPreview;
  readonly address: string;
}) {
  const { week, homes, alreadyPlanned, tooSoon } = preview;
  const entered = week.rounds.reduce((sum, { order }) => sum + order.stops.length, 0);
  const tasks = week.rounds.reduce(
    (sum, { order }) =>
      sum + order.stops.reduce((count, { id }) => count + (homes.get(id)?.tasks.length ?? 0), 0),
    0,
  );
  return (
    <>
      <Figures>
        <Figure label="Rounds" value={formatNumber(week.rounds.length)}>
          <p>
            {week.rounds.length <= week.leastRounds
              ? "The work and the ways cannot be done in fewer."
              : `The work and the ways of these homes need ${week.leastRounds} at the least; windows and whole homes may need more.`}
          </p>
        </Figure>
        <Figure label="Homes entered once" value={formatNumber(entered)} />
        <Figure label="Tasks" value={formatNumber(tasks)} />
        <Figure label="Homes left over" value={formatNumber(week.leftOver.length)} />
        <Figure label="On a round already" value={formatNumber(alreadyPlanned)} />
      </Figures>
      {tooSoon.length > 0 && (
        <p className="notice notice--attention">
          {tooSoon.map((day) => formatDay(day)).join(", ")}: too soon for{" "}
          {formatNumber(preview.request.noticeDays)} days of notice, so nothing is planned then.
        </p>
      )}
      {week.rounds.length === 0 ? (
        <p className="empty">
          Nothing is left to be planned for these days. Choose a later week, another property, or
          homes with work that falls due later.
        </p>
      ) : (
        <div className="actions">
          <MakeButton address={address} count={week.rounds.length} />
        </div>
      )}
      {week.rounds.map(({ day, order }) => (
        <section className="section" key={day} aria-labelledby={day}>
          <h2 id={day}>
            {WEEKDAY_LABELS[isoWeekday(day) - 1]}, {formatDay(day)}
          </h2>
          <p className="soft">
            {formatNumber(order.stops.length)} homes in {duration(order.finishMinutes)} (
            {boundInWords(order.finishMinutes, order.bound.finishMinutes)}), of it{" "}
            {exactMinutes(order.travelMinutes)} min on the way (
            {boundInWords(order.travelMinutes, order.bound.travelMinutes)})
            {order.waitMinutes > 0 && ` and ${exactMinutes(order.waitMinutes)} min of waiting`}.
          </p>
          <LedgerFrame label={`Round of ${formatDay(day)}`}>
            <table className="ledger">
              <thead>
                <tr>
                  <th scope="col">Arrive</th>
                  <th scope="col">Home</th>
                  <th scope="col">Tasks</th>
                  <th scope="col" className="number">
                    Minutes
                  </th>
                  <th scope="col">Access</th>
                </tr>
              </thead>
              <tbody>
                {order.stops.map(({ id, beginMinute }) => {
                  const home = homes.get(id);
                  if (!home) return null;
                  return (
                    <tr key={id}>
                      <td>{clockTime(beginMinute)}</td>
                      <th scope="row">
                        {home.building}, {home.label}
                      </th>
                      <td>
                        {home.tasks
                          .map(({ task, state }) =>
                            state === "overdue"
                              ? `${TASK_LABELS[task]} (overdue)`
                              : TASK_LABELS[task],
                          )
                          .join("; ")}
                      </td>
                      <td className="number">{home.workMinutes}</td>
                      <td>{accessInWords(home.access) ?? "any time"}</td>
                    </tr>
                  );
                })}
              </tbody>
            </table>
          </LedgerFrame>
        </section>
      ))}
      {week.leftOver.length > 0 && (
        <section className="section" aria-labelledby="left">
          <h2 id="left">Left over</h2>
          <details>
            <summary>{formatNumber(week.leftOver.length)} homes, and why</summary>
            <LedgerFrame label="Homes left over">
              <table className="ledger">
                <thead>
                  <tr>
                    <th scope="col">Home</th>
                    <th scope="col" className="number">
                      Minutes
                    </th>
                    <th scope="col">Why</th>
                  </tr>
                </thead>
                <tbody>
                  {week.leftOver.map(({ id, reason }) => (
                    <tr key={id}>
                      <th scope="row">
                        {homes.get(id)?.building}, {homes.get(id)?.label}
                      </th>
                      <td className="number">{homes.get(id)?.workMinutes}</td>
                      <td>{REASON_WORDS[reason]}</td>
                    </tr>
                  ))}
                </tbody>
              </table>
            </LedgerFrame>
          </details>
          <p>
            Plan another week for them, or set a longer round. How long work takes is under{" "}
            <Link href="/upkeep/rules#work">Rules</Link>.
          </p>
        </section>
      )}
    </>
  );
}
