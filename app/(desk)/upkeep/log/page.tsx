import type { Metadata } from "next";
import Link from "next/link";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import { PageHeading } from "@/app/_components/page-heading";
import { formatDay, formatMoney, formatNumber } from "@/app/_lib/format";
import { today } from "@/app/_lib/today";
import { requireViewer } from "@/app/_lib/viewer";
import { TECHNOLOGY_LABELS, type Technology } from "@/lib/core/heaters/vocabulary";
import { formatCents } from "@/lib/core/shared/money";
import {
  type LogRow,
  readLogOfWork,
  taskInWords,
  type WorkLogView,
  workLogQuerySchema,
} from "@/lib/services/work-log";
import styles from "./log.module.css";

export const metadata: Metadata = { title: "Work log" };

export default async function WorkLogPage({
  searchParams,
}: {
  readonly searchParams: Promise<Readonly<Record<string, string | string[] | undefined>>>;
}) {
  const viewer = await requireViewer();
  const search = await searchParams;
  const query = workLogQuerySchema.parse({
    property: search.property,
    person: search.person,
    from: search.from,
    to: search.to,
    page: search.page,
  });
  const view = await readLogOfWork(viewer, query, today());
  const { filter } = view;
  const address = (path: string, page: number | null) => {
    const next = new URLSearchParams({ from: filter.from, to: filter.to });
    if (filter.propertyId) next.set("property", filter.propertyId);
    if (filter.performedBy) next.set("person", filter.performedBy);
    if (page !== null) next.set("page", String(page));
    return `${path}?${next}`;
  };
  return (
    <>
      <PageHeading title="Work log" question="What was done, by whom, and what did it cost?">
        <a className="button" href={address("/upkeep/log/csv", null)} download>
          Download CSV
        </a>
      </PageHeading>
      <form className="filter" method="get" aria-label="Filter">
        <div className="field">
          <label htmlFor="property">Property</label>
          <select id="property" name="property" defaultValue={filter.propertyId ?? ""}>
            <option value="">All properties</option>
            {view.properties.map(({ id, name }) => (
              <option key={id} value={id}>
                {name}
              </option>
            ))}
          </select>
        </div>
        <div className="field">
          <label htmlFor="person">Person</label>
          <select id="person" name="person" defaultValue={filter.performedBy ?? ""}>
            <option value="">Everybody</option>
            {view.people.map((name) => (
              <option key={name} value={name}>
                {name}
              </option>
            ))}
          </select>
        </div>
        <div className="field">
          <label htmlFor="from">From</label>
          <input id="from" name="from" type="date" defaultValue={filter.from} />
        </div>
        <div className="field">
          <label htmlFor="to">To</label>
          <input id="to" name="to" type="date" defaultValue={filter.to} />
        </div>
        <button className="button" type="submit">
          Show
        </button>
      </form>

      <Costs view={view} />

      <section className="section" aria-labelledby="visits">
        <h2 id="visits">Visits</h2>
        {view.rows.length === 0 ? (
          <p className="empty">
            No visit is on record for these days. Choose other days or record one.
          </p>
        ) : (
          <LedgerFrame label="Visits">
            <table className={`ledger ${styles.visits}`}>
              <thead>
                <tr>
                  <th scope="col">Day</th>
                  <th scope="col">Person</th>
                  <th scope="col">Heater</th>
                  <th scope="col">Where</th>
                  <th scope="col">Done and found</th>
                  <th scope="col" className="number">
                    Minutes
                  </th>
                  <th scope="col">Parts and costs</th>
                  <th scope="col">Note</th>
                </tr>
              </thead>
              <tbody>
                {view.rows.map((row) => (
                  <Visit key={row.visitId} row={row} />
                ))}
              </tbody>
            </table>
          </LedgerFrame>
        )}
        {(view.page > 1 || view.hasMore) && (
          <nav className="actions" aria-label="Pages of the log">
            {view.page > 1 && (
              <Link className="button" href={address("/upkeep/log", view.page - 1)}>
                Later
              </Link>
            )}
            <span>Page {view.page}</span>
            {view.hasMore && (
              <Link className="button" href={address("/upkeep/log", view.page + 1)}>
                Earlier
              </Link>
            )}
          </nav>
        )}
      </section>
    </>
  );
}

function Visit({ row }: { readonly row: LogRow }) {
  return (
    <tr>
      <td>{formatDay(row.visitedOn)}</td>
      <td>{row.performedBy ?? "–"}</td>
      <th scope="row">
        <Link href={`/heaters/${row.heaterId}`}>{row.tag}</Link>
      </th>
      <td>
        {row.property}, {row.building}
        {row.home && `, home ${row.home}`}
      </td>
      <td>
        {row.tasks.map((task) => (
          <div key={task.task}>{taskInWords(task)}</div>
        ))}
        {row.tapF !== null && <div>Tap {formatNumber(row.tapF)} °F</div>}
      </td>
      <td className="number">{row.minutes ?? "–"}</td>
      <td>
        {row.parts.map(({ name, quantity, costCents }) => (
          <div key={name}>
            {formatNumber(quantity, Number.isInteger(quantity) ? 0 : 1)} × {name}:{" "}
            {costCents === null ? "price not known" : formatCents(costCents)}
          </div>
        ))}
        {row.costCents !== null && <div>Others: {formatCents(row.costCents)}</div>}
      </td>
      <td>
        {row.note}
        {row.photoIds.map((id, index) => (
          <div key={id}>
            <a href={`/api/upkeep/photos/${id}`}>Photo {index + 1}</a>
          </div>
        ))}
      </td>
    </tr>
  );
}

function Costs({ view }: { readonly view: WorkLogView }) {
  const { costs, filter } = view;
  const sum = (of: (cost: WorkLogView["costs"][number]) => number) =>
    costs.reduce((total, cost) => total + of(cost), 0);
  const untimed = sum(({ untimedVisits }) => untimedVisits);
  const unpriced = sum(({ unpricedParts }) => unpricedParts);
  return (
    <section className="section" aria-labelledby="costs">
      <h2 id="costs">What upkeep costs a heater a year</h2>
      <p className="soft">
        Everybody’s work from {formatDay(filter.from)} to {formatDay(filter.to)}. Labor at{" "}
        {formatCents(view.labourCentsPerHour)} an hour (
        {view.isLabourAssumed ? "assumed" : "entered"};{" "}
        <Link href="/upkeep/rules#work">change it</Link>).
        {untimed > 0 &&
          ` ${formatNumber(untimed)} visits have no minutes on record and count with those of their tasks.`}
        {unpriced > 0 && ` ${formatNumber(unpriced)} parts have no price and count as nothing.`}
      </p>
      <LedgerFrame label="Cost by technology">
        <table className="ledger">
          <thead>
            <tr>
              <th scope="col">Technology</th>
              <th scope="col" className="number">
                Heater-years
              </th>
              <th scope="col" className="number">
                Visits
              </th>
              <th scope="col" className="number">
                Hours
              </th>
              <th scope="col" className="number">
                Labor
              </th>
              <th scope="col" className="number">
                Parts
              </th>
              <th scope="col" className="number">
                Others
              </th>
              <th scope="col" className="number">
                A heater a year
              </th>
            </tr>
          </thead>
          <tbody>
            {costs.map((cost) => (
              <tr key={cost.technology}>
                <th scope="row">
                  {TECHNOLOGY_LABELS[cost.technology as Technology] ?? cost.technology}
                </th>
                <td className="number">{formatNumber(cost.heaterYears, 1)}</td>
                <td className="number">{formatNumber(cost.visits)}</td>
                <td className="number">{formatNumber(cost.minutes / 60)}</td>
                <td className="number">{formatMoney(cost.labourCents)}</td>
                <td className="number">{formatMoney(cost.partsCents)}</td>
                <td className="number">{formatMoney(cost.otherCents)}</td>
                <td className="number">
                  {cost.centsPerHeaterYear === null ? "–" : formatCents(cost.centsPerHeaterYear)}
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      </LedgerFrame>
    </section>
  );
}
