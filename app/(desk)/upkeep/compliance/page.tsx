import type { Metadata } from "next";
import { Chart } from "@/app/_components/chart";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import { PageHeading } from "@/app/_components/page-heading";
import { formatDay, formatNumber, formatShare } from "@/app/_lib/format";
import { today } from "@/app/_lib/today";
import { requireViewer } from "@/app/_lib/viewer";
import { TASK_LABELS } from "@/lib/core/heaters/vocabulary";
import { complianceShare } from "@/lib/core/upkeep/compliance";
import { type InDate, readCompliance } from "@/lib/services/upkeep-compliance";

export const metadata: Metadata = { title: "Care in date" };

export default async function CompliancePage({
  searchParams,
}: {
  readonly searchParams: Promise<Readonly<Record<string, string | string[] | undefined>>>;
}) {
  const viewer = await requireViewer();
  const { property } = await searchParams;
  const day = today();
  const view = await readCompliance(viewer, typeof property === "string" ? property : null, day);
  const months = view.months.filter(({ tasks }) => tasks > 0);
  const buildings = [...view.byBuilding].sort((a, b) => share(a) - share(b));
  return (
    <>
      <PageHeading
        title="Care in date"
        question="How much of the care is in date, and where is it not?"
      />
      <form className="filter" method="get" aria-label="Filter">
        <div className="field">
          <label htmlFor="property">Property</label>
          <select id="property" name="property" defaultValue={view.propertyId ?? ""}>
            {!view.needsProperty && <option value="">All properties</option>}
            {view.properties.map(({ id, name }) => (
              <option key={id} value={id}>
                {name}
              </option>
            ))}
          </select>
        </div>
        <button className="button" type="submit">
          Show
        </button>
      </form>
      {months.length === 0 ? (
        <p className="empty">No heater with care to be done is on record here.</p>
      ) : (
        <>
          <section className="section" aria-labelledby="months">
            <h2 id="months">By month</h2>
            <p className="soft">
              Of all tasks of the heaters that stood at the end of a month, the share that was not
              overdue, by what was on record by then and by today’s intervals. The last point is
              today.
            </p>
            <Chart
              title="Tasks in date"
              summary={`From ${formatShare(share(months[0]))} at the end of ${months[0].day.slice(0, 7)} to ${formatShare(share(months[months.length - 1]))} today.`}
              labelsName="End of month"
              labels={months.map(({ day: end }) => (end === day ? "today" : end.slice(0, 7)))}
              series={[
                {
                  label: "In date",
                  values: months.map(complianceShare),
                  ink: "tide",
                  kind: "line",
                },
              ]}
              unit="share of tasks"
              format="share"
            />
          </section>
          <section className="section" aria-labelledby="tasks">
            <h2 id="tasks">By task, {formatDay(day)}</h2>
            <LedgerFrame label="Tasks in date, by task">
              <Table
                name="Task"
                rows={view.byTask.map((row) => ({ ...row, label: TASK_LABELS[row.task] }))}
              />
            </LedgerFrame>
          </section>
          <section className="section" aria-labelledby="buildings">
            <h2 id="buildings">By building, the least in date first</h2>
            <LedgerFrame label="Tasks in date, by building">
              <Table
                name="Building"
                rows={buildings.map((row) => ({
                  ...row,
                  label: `${row.building.property}, ${row.building.name}`,
                }))}
              />
            </LedgerFrame>
          </section>
        </>
      )}
    </>
  );
}

const share = (row: InDate) => complianceShare(row) ?? 0;

function Table({
  name,
  rows,
}: {
  readonly name: string;
  readonly rows: readonly (InDate & { readonly label: string })[];
}) {
  const total = rows.reduce(
    (sum, { tasks, inDate }) => ({ tasks: sum.tasks + tasks, inDate: sum.inDate + inDate }),
    { tasks: 0, inDate: 0 },
  );
  return (
    <table className="ledger">
      <thead>
        <tr>
          <th scope="col">{name}</th>
          <th scope="col" className="number">
            Tasks
          </th>
          <th scope="col" className="number">
            In date
          </th>
          <th scope="col" className="number">
            Overdue
          </th>
          <th scope="col" className="number">
            Share in date
          </th>
        </tr>
      </thead>
      <tbody>
        {rows.map((row) => (
          <tr key={row.label}>
            <th scope="row">{row.label}</th>
            <Cells row={row} />
          </tr>
        ))}
      </tbody>
      <tfoot>
        <tr>
          <th scope="row">All</th>
          <Cells row={total} />
        </tr>
      </tfoot>
    </table>
  );
}

function Cells({ row }: { readonly row: InDate }) {
  return (
    <>
      <td className="number">{formatNumber(row.tasks)}</td>
      <td className="number">{formatNumber(row.inDate)}</td>
      <td className="number">{formatNumber(row.tasks - row.inDate)}</td>
      <td className="number">{formatShare(share(row))}</td>
    </>
  );
}
