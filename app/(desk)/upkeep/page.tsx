import type { Metadata } from "next";
import Link from "next/link";
import { Caution } from "@/app/_components/caution";
import { Figure, Figures } from "@/app/_components/figure";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import { PageHeading } from "@/app/_components/page-heading";
import { formatDay, formatMoney, formatNumber, formatShare } from "@/app/_lib/format";
import { today } from "@/app/_lib/today";
import { requireViewer } from "@/app/_lib/viewer";
import { CAUTIONS, type HazardousAct } from "@/lib/core/heaters/cautions";
import { TASK_KINDS, TASK_LABELS, type TaskKind } from "@/lib/core/heaters/vocabulary";
import { formatCents } from "@/lib/core/shared/money";
import { DUE_STATES, type DueState } from "@/lib/core/upkeep/due-tasks";
import { DEFAULT_UPKEEP_RULES } from "@/lib/core/upkeep/rules";
import { UNPRICED_TASKS } from "@/lib/core/upkeep/task-worth";
import { mayDo } from "@/lib/services/permissions";
import {
  DUE_ORDERS,
  type DueLine,
  type DueList,
  type DueOrder,
  listDueWork,
} from "@/lib/services/upkeep";
import { RecordForm } from "./_components/record-form";

export const metadata: Metadata = { title: "Upkeep" };

const STATE_LABELS: Readonly<Record<DueState, string>> = {
  overdue: "Overdue",
  due: "Due",
  soon: "Soon",
  later: "Later",
  "leave-alone": "Leave alone",
};

const ORDER_LABELS: Readonly<Record<DueOrder, string>> = {
  day: "Due day",
  worth: "Worth of a minute",
};

type Search = Readonly<Record<string, string | string[] | undefined>>;

export default async function UpkeepPage({
  searchParams,
}: {
  readonly searchParams: Promise<Search>;
}) {
  const viewer = await requireViewer();
  const search = await searchParams;
  const one = (name: string) => {
    const value = search[name];
    return typeof value === "string" && value !== "" ? value : null;
  };
  const filter = {
    propertyId: one("property"),
    task: TASK_KINDS.find((task) => task === one("task")) ?? null,
    state: DUE_STATES.find((state) => state === one("state")) ?? null,
    order: DUE_ORDERS.find((order) => order === one("order")) ?? "day",
    page: Number(one("page")) || 1,
  };
  const day = today();
  const list = await listDueWork(viewer, filter, day);
  const canRecord = mayDo(viewer.role, "visit.record");
  const sum = (state: DueState) =>
    TASK_KINDS.reduce((total, task) => total + list.counts[task][state], 0);
  const address = (changes: Readonly<Record<string, string | null>>) => {
    const next = new URLSearchParams();
    const all = {
      property: filter.propertyId,
      task: filter.task,
      state: filter.state,
      order: filter.order === "day" ? null : filter.order,
      page: null,
      ...changes,
    };
    for (const [name, value] of Object.entries(all)) if (value) next.set(name, value);
    return `/upkeep${next.size > 0 ? `?${next}` : ""}`;
  };

  return (
    <>
      <PageHeading title="Upkeep" question="What is due, and where?">
        {canRecord && (
          <Link
            className="button button--primary"
            href={`/upkeep/rounds/new${list.propertyId ? `?property=${list.propertyId}` : ""}`}
          >
            Make rounds
          </Link>
        )}
      </PageHeading>
      <form className="filter" method="get" aria-label="Filter">
        <div className="field">
          <label htmlFor="property">Property</label>
          <select id="property" name="property" defaultValue={list.propertyId ?? ""}>
            {!list.needsProperty && <option value="">All properties</option>}
            {list.properties.map((property) => (
              <option key={property.id} value={property.id}>
                {property.name} ({formatNumber(property.heaterCount)})
              </option>
            ))}
          </select>
        </div>
        <div className="field">
          <label htmlFor="task">Task</label>
          <select id="task" name="task" defaultValue={filter.task ?? ""}>
            <option value="">All tasks</option>
            {TASK_KINDS.map((task) => (
              <option key={task} value={task}>
                {TASK_LABELS[task]}
              </option>
            ))}
          </select>
        </div>
        <div className="field">
          <label htmlFor="state">State</label>
          <select id="state" name="state" defaultValue={filter.state ?? ""}>
            <option value="">Overdue, due and soon</option>
            {DUE_STATES.map((state) => (
              <option key={state} value={state}>
                {STATE_LABELS[state]}
              </option>
            ))}
          </select>
        </div>
        <div className="field">
          <label htmlFor="order">Order</label>
          <select id="order" name="order" defaultValue={filter.order}>
            {DUE_ORDERS.map((order) => (
              <option key={order} value={order}>
                {ORDER_LABELS[order]}
              </option>
            ))}
          </select>
        </div>
        <button className="button" type="submit">
          Show
        </button>
      </form>

      <Figures>
        <Figure label="Overdue tasks" value={formatNumber(sum("overdue"))}>
          <p>
            Counted from the day after a task's due day. Base intervals come from guidance for
            owners and the trade; water and the last finding shorten or lengthen them.
          </p>
        </Figure>
        <Figure
          label={`Due within ${DEFAULT_UPKEEP_RULES.dueWithinDays} days`}
          value={formatNumber(sum("due"))}
        />
        <Figure
          label={`Due within ${DEFAULT_UPKEEP_RULES.soonWithinDays} days`}
          value={formatNumber(sum("soon"))}
        />
        <Figure label="Left alone: old and never serviced" value={formatNumber(sum("leave-alone"))}>
          <p>
            Common practice, no source: a tank of {DEFAULT_UPKEEP_RULES.leaveAloneFromYears.value}{" "}
            years or more that was never serviced is not flushed or opened any more. It is replaced.
          </p>
        </Figure>
        <Figure label="Heaters looked at" value={formatNumber(list.heaterCount)} />
      </Figures>

      <CountsTable list={list} address={address} />
      <DueTable list={list} day={day} canRecord={canRecord} isByWorth={filter.order === "worth"} />

      {list.pageCount > 1 && (
        <nav className="actions" aria-label="Pages of the list">
          {list.page > 1 && (
            <Link className="button" href={address({ page: String(list.page - 1) })}>
              Earlier
            </Link>
          )}
          <span>
            Page {list.page} of {list.pageCount}
          </span>
          {list.page < list.pageCount && (
            <Link className="button" href={address({ page: String(list.page + 1) })}>
              Later
            </Link>
          )}
        </nav>
      )}

      <section className="section">
        <h2>How this list is made</h2>
        <p>
          Due days follow base intervals, the water and what was found last; every interval, its
          source and each property's own are under <Link href="/upkeep/rules">Rules</Link>. Ranked
          by worth, a task counts the failure probability that it removes until it would come again,
          times what a failure of that heater costs, for each minute of work. What must be put right
          at once and what guards people come first: they are never weighed against money.
        </p>
      </section>
    </>
  );
}

function CountsTable({
  list,
  address,
}: {
  readonly list: DueList;
  readonly address: (changes: Readonly<Record<string, string | null>>) => string;
}) {
  const shown = TASK_KINDS.filter((task) =>
    DUE_STATES.some((state) => list.counts[task][state] > 0),
  );
  if (shown.length === 0) return null;
  return (
    <section className="section">
      <h2>By task</h2>
      <LedgerFrame label="Tasks by state">
        <table className="ledger">
          <thead>
            <tr>
              <th scope="col">Task</th>
              {DUE_STATES.map((state) => (
                <th key={state} scope="col" className="number">
                  {STATE_LABELS[state]}
                </th>
              ))}
            </tr>
          </thead>
          <tbody>
            {shown.map((task) => (
              <tr key={task}>
                <th scope="row">
                  <Link href={address({ task, state: null })}>{TASK_LABELS[task]}</Link>
                </th>
                {DUE_STATES.map((state) => (
                  <td key={state} className="number">
                    {list.counts[task][state] > 0 ? (
                      <Link href={address({ task, state })}>
                        {formatNumber(list.counts[task][state])}
                      </Link>
                    ) : (
                      <span className="soft">0</span>
                    )}
                  </td>
                ))}
              </tr>
            ))}
          </tbody>
        </table>
      </LedgerFrame>
    </section>
  );
}

function DueTable({
  list,
  day,
  canRecord,
  isByWorth,
}: {
  readonly list: DueList;
  readonly day: string;
  readonly canRecord: boolean;
  readonly isByWorth: boolean;
}) {
  if (list.heaterCount === 0) {
    return (
      <div className="empty">
        <p>There are no heaters in service on record here yet.</p>
        <Link className="button" href="/import">
          Bring in a spreadsheet
        </Link>
      </div>
    );
  }
  if (list.lineCount === 0) {
    return <p className="empty">Nothing of this kind is due. Choose another task or state.</p>;
  }
  const acts = new Set<HazardousAct>();
  for (const line of list.lines) if (line.caution) acts.add(line.caution);
  return (
    <section className="section">
      <h2>
        {formatNumber(list.lineCount)} {list.lineCount === 1 ? "task" : "tasks"}
      </h2>
      {[...acts].map((act) => (
        <Caution key={act}>{CAUTIONS[act]}</Caution>
      ))}
      <LedgerFrame label="Due work">
        <table className="ledger">
          <thead>
            <tr>
              <th scope="col">Due</th>
              <th scope="col">Task</th>
              <th scope="col">Heater</th>
              <th scope="col">Where</th>
              <th scope="col" className="number">
                Chance of failure, 12 months
              </th>
              {isByWorth && (
                <th scope="col" className="number">
                  Avoided per minute
                </th>
              )}
              <th scope="col">Why then</th>
            </tr>
          </thead>
          <tbody>
            {list.lines.map((line) => (
              <DueRow
                key={`${line.heaterId} ${line.task}`}
                line={line}
                day={day}
                canRecord={canRecord}
                isByWorth={isByWorth}
              />
            ))}
          </tbody>
        </table>
      </LedgerFrame>
    </section>
  );
}

function DueRow({
  line,
  day,
  canRecord,
  isByWorth,
}: {
  readonly line: DueLine;
  readonly day: string;
  readonly canRecord: boolean;
  readonly isByWorth: boolean;
}) {
  const isUrgent = line.state === "overdue" || line.state === "leave-alone";
  return (
    <tr>
      <td>
        <span className={isUrgent ? "mark mark--attention" : "mark"}>
          {STATE_LABELS[line.state]}
        </span>
        <br />
        {formatDay(line.dueOn)}
      </td>
      <td>
        {TASK_LABELS[line.task as TaskKind]}
        {canRecord && line.state !== "leave-alone" && (
          <details>
            <summary className="small">Done …</summary>
            <RecordForm heaterId={line.heaterId} task={line.task} today={day} />
          </details>
        )}
      </td>
      <td>
        <Link href={`/heaters/${line.heaterId}`}>{line.tag}</Link>
      </td>
      <td>
        {line.property}, {line.building}
        {line.home && `, home ${line.home}`}
      </td>
      <td className="number">
        {line.failureProbability === null ? "–" : formatShare(line.failureProbability)}
      </td>
      {isByWorth && (
        <td className="number">
          <Worth line={line} />
        </td>
      )}
      <td>{line.why}</td>
    </tr>
  );
}

function Worth({ line: { task, state, worth } }: { readonly line: DueLine }) {
  if (worth === null) {
    const why = state === "leave-alone" ? "left alone" : (UNPRICED_TASKS[task] ?? "not priced");
    return <span className="soft">{why}</span>;
  }
  return (
    <>
      {formatCents(Math.round(worth.avoidedCentsPerMinute))}
      <details>
        <summary className="small">Parts</summary>
        <dl className="facts small">
          <dt>Failures removed</dt>
          <dd>{formatShare(Math.max(0, worth.removedProbability))}</dd>
          <dt>Loss avoided</dt>
          <dd>{formatMoney(Math.round(worth.avoidedCents))}</dd>
          <dt>Labor and parts</dt>
          <dd>{formatMoney(Math.round(worth.costCents))}</dd>
          <dt>Net</dt>
          <dd>{formatMoney(Math.round(worth.netCents))}</dd>
        </dl>
      </details>
    </>
  );
}
