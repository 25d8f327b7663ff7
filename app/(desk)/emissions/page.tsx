import type { Metadata } from "next";
import Link from "next/link";
import { ActButton } from "@/app/_components/act-button";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import {
  formatDay,
  formatInstant,
  formatKilograms,
  formatNumber,
  formatShare,
} from "@/app/_lib/format";
import { today } from "@/app/_lib/today";
import { requireViewer } from "@/app/_lib/viewer";
import { locationTotal } from "@/lib/core/emissions/annual-emissions";
import type { Policy } from "@/lib/core/emissions/policies";
import { type EmissionsOverview, readEmissions } from "@/lib/services/emissions";
import { AccountFigures } from "./_components/account-figures";
import { AccountForm } from "./_components/account-form";
import { AccountWatch } from "./_components/account-watch";
import { CausesTable } from "./_components/causes-table";
import { CheckButton } from "./_components/check-button";
import { LinesTable } from "./_components/lines-table";
import { PathChart } from "./_components/path-chart";
import { FINDING_LABELS, outlookWords, regionName } from "./_lib/words";
import { adoptBase } from "./record-actions";

export const metadata: Metadata = { title: "Emissions" };

type Search = Readonly<Record<string, string | string[] | undefined>>;
type Account = NonNullable<EmissionsOverview["account"]>;

export default async function EmissionsPage({
  searchParams,
}: {
  readonly searchParams: Promise<Search>;
}) {
  const viewer = await requireViewer();
  const search = await searchParams;
  const view = await readEmissions(
    viewer,
    { runId: one(search.account), propertyId: one(search.property) },
    today(),
  );
  const { account, underWay } = view;
  if (!view.hasHeaters && !account) {
    return (
      <div className="empty">
        <p>There are no heaters in service on record yet.</p>
        <Link className="button" href="/import">
          Bring in a spreadsheet
        </Link>
      </div>
    );
  }
  return (
    <>
      {underWay && (
        <AccountWatch
          runId={underWay.id}
          year={underWay.year}
          start={underWay}
          mayCancel={view.mayEdit}
        />
      )}
      {account ? (
        <AccountView account={account} view={view} />
      ) : (
        !underWay && <NoAccount view={view} />
      )}
    </>
  );
}

function one(value: string | string[] | undefined): string | null {
  return typeof value === "string" && value !== "" ? value : null;
}

function NoAccount({ view }: { readonly view: EmissionsOverview }) {
  const failed = view.runs.find(({ status }) => status === "failed");
  return (
    <section className="section">
      {failed?.message && <p className="notice notice--attention">{failed.message}</p>}
      <p>
        No account has been computed yet. It takes seconds for a thousand heaters, is kept with
        every row and factor it used, and can be computed again as often as you like.
      </p>
      {view.mayEdit ? (
        <RequestForm view={view} />
      ) : (
        <p className="soft">Ask an owner, manager or sustainability officer to compute one.</p>
      )}
    </section>
  );
}

function RequestForm({ view }: { readonly view: EmissionsOverview }) {
  return (
    <AccountForm
      years={view.years}
      defaultYear={view.account?.run.year ?? view.defaultYear}
      plans={view.plans.map(({ id, name, finishedAt }) => ({
        id,
        label: `${name}, ${formatDay(finishedAt.toISOString().slice(0, 10))}`,
      }))}
    />
  );
}

function AccountView({
  account,
  view,
}: {
  readonly account: Account;
  readonly view: EmissionsOverview;
}) {
  const { run, summary, property } = account;
  return (
    <>
      <form className="filter" method="get" aria-label="Filter">
        <div className="field">
          <label htmlFor="account">Account</label>
          <select id="account" name="account" defaultValue={run.id}>
            {view.runs
              .filter(({ status }) => status === "done")
              .map(({ id, year, createdAt }) => (
                <option key={id} value={id}>
                  {year}, made {formatInstant(createdAt)}
                </option>
              ))}
          </select>
        </div>
        <div className="field">
          <label htmlFor="property">Path of</label>
          <select id="property" name="property" defaultValue={property?.propertyId ?? ""}>
            <option value="">All properties</option>
            {account.propertyChoices.map(({ id, name }) => (
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

      {account.isStale && (
        <p className="notice notice--attention">
          The record has changed since this account was made. It stays as it was; compute a new one
          to see the difference.
        </p>
      )}

      <AccountFigures summary={summary} />

      <section className="section">
        <h2>{property ? `${property.name}: achieved and planned` : "Achieved, planned, target"}</h2>
        <PathChart summary={summary} property={property} />
        {summary.plan ? (
          <p className="small soft">
            Plan: <Link href={`/plans/${summary.plan.runId}`}>{summary.plan.scenarioName}</Link>,
            made as of {formatDay(summary.plan.asOf)}. A planned swap counts from the middle of its
            period; emergencies before it are left out.
          </p>
        ) : (
          <p className="small soft">
            No plan has been computed yet: the years ahead keep today’s heaters.{" "}
            <Link href="/plans">Make a plan</Link>
          </p>
        )}
        <p className="small soft">{outlookWords(account.gridOutlook)}</p>
      </section>

      <section className="section">
        <h2>Where the change since {summary.baseYear} comes from</h2>
        <CausesTable
          baseYear={summary.baseYear}
          years={
            property
              ? property.achieved.map(({ year, kgCo2e, swaps, detail }) => ({
                  year,
                  kgCo2e: locationTotal(kgCo2e),
                  change: detail.change,
                  swaps,
                  swapsToHeatPump: detail.swapsToHeatPump,
                  meteredShare: detail.meteredShare,
                }))
              : summary.achieved.map((year) => ({ ...year, kgCo2e: locationTotal(year.kgCo2e) }))
          }
        />
        <p className="small soft">
          All scopes, location-based. Swaps, factors, care and occupancy are told apart by the
          average over every order in which they may have come, so none is favoured and they add up.
          What meters say beyond the model is told as such.
        </p>
      </section>

      <section className="section">
        <h2>The account of {summary.year}, line by line</h2>
        <LinesTable lines={summary.lines} />
        {summary.notes.map((note) => (
          <p key={note} className="small soft sentence">
            {note}
          </p>
        ))}
      </section>

      {summary.policies.length > 0 && (
        <section className="section">
          <h2>Rules broken along the plan</h2>
          <PolicyTable account={account} />
        </section>
      )}

      <div className="columns">
        <section className="section">
          <h2>By property, {summary.year}</h2>
          <PropertyTable account={account} />
        </section>
        <section className="section">
          <h2>What was assumed</h2>
          <Assumptions account={account} />
        </section>
      </div>

      <section className="section">
        <h2>For the auditor</h2>
        <dl className="facts">
          <dt>Made</dt>
          <dd>
            {formatInstant(run.createdAt)}
            {run.requestedBy && ` by ${run.requestedBy}`}, as of {formatDay(run.asOf)}
          </dd>
          <dt>Covers</dt>
          <dd>
            {formatNumber(summary.heaters)} heaters that served in {summary.year},{" "}
            {formatNumber(summary.homes)} homes, {formatNumber(summary.properties)} properties,{" "}
            {formatNumber(summary.entries)} rows
          </dd>
          <dt>Method</dt>
          <dd>
            {run.method}; {summary.gwpSet} potentials over 100 years
          </dd>
          <dt>Fingerprint</dt>
          <dd style={{ overflowWrap: "anywhere" }}>{run.fingerprint}</dd>
        </dl>
        <div className="actions">
          <a className="button" href={`/emissions/runs/${run.id}/workbook.xlsx`}>
            Auditor’s workbook
          </a>
          <a className="button" href={`/emissions/runs/${run.id}/rows.csv`}>
            Rows as CSV
          </a>
          <Link className="button" href={`/emissions/statement?account=${run.id}`}>
            One-page statement
          </Link>
          <CheckButton runId={run.id} />
        </div>
        <BaseYear account={account} mayEdit={view.mayEdit} />
      </section>

      {view.mayEdit && (
        <section className="section">
          <h2>Compute another account</h2>
          <RequestForm view={view} />
        </section>
      )}
    </>
  );
}

function BaseYear({ account, mayEdit }: { readonly account: Account; readonly mayEdit: boolean }) {
  const { base, baseYear } = account.summary;
  const { decision } = base;
  return (
    <>
      <p>
        Base year {baseYear}: {formatKilograms(base.computedKg)} by today’s record
        {base.adoptedKg === null
          ? "; none has been adopted"
          : `, ${formatKilograms(base.adoptedKg)} as adopted`}
        {decision &&
          decision.share > 0 &&
          `; structural changes are ${formatShare(decision.share)} of it, ${decision.recalculate ? "above" : "within"} the ${formatShare(decision.thresholdShare)} from which it is recalculated`}
        .
      </p>
      {mayEdit && (
        <ActButton
          act={adoptBase.bind(null, account.run.id)}
          label={`Adopt ${formatKilograms(base.computedKg)} as the base year’s figure`}
          className="button"
        />
      )}
    </>
  );
}

function PropertyTable({ account }: { readonly account: Account }) {
  const { properties, propertyCount, run } = account;
  return (
    <>
      <LedgerFrame label="Emissions by property">
        <table className="ledger">
          <thead>
            <tr>
              <th scope="col">Property</th>
              <th scope="col" className="number">
                Heaters
              </th>
              <th scope="col" className="number">
                Scope 1
              </th>
              <th scope="col" className="number">
                Scope 2, location
              </th>
              <th scope="col" className="number">
                Scope 2, market
              </th>
              <th scope="col" className="number">
                Scope 3
              </th>
              <th scope="col" className="number">
                Metered
              </th>
              <th scope="col">Grid region</th>
            </tr>
          </thead>
          <tbody>
            {properties.map(({ propertyId, name, heaters, kgCo2e, detail }) => (
              <tr key={propertyId}>
                <th scope="row">
                  <Link href={`/emissions?account=${run.id}&property=${propertyId}`}>{name}</Link>
                </th>
                <td className="number">{formatNumber(heaters)}</td>
                <td className="number">{formatKilograms(kgCo2e.scope1)}</td>
                <td className="number">{formatKilograms(kgCo2e.scope2Location)}</td>
                <td className="number">{formatKilograms(kgCo2e.scope2Market)}</td>
                <td className="number">{formatKilograms(kgCo2e.scope3)}</td>
                <td className="number">{formatShare(detail.meteredShare, 0)}</td>
                <td>{regionName(detail.gridRegion)}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </LedgerFrame>
      {propertyCount > properties.length && (
        <p className="small soft">
          The {formatNumber(properties.length)} largest of {formatNumber(propertyCount)}; all are in
          the workbook.
        </p>
      )}
    </>
  );
}

function Assumptions({ account }: { readonly account: Account }) {
  const { assumed, heaters } = account.summary;
  if (assumed.length === 0) return <p>Nothing: every value is on record.</p>;
  return (
    <LedgerFrame label="Assumptions">
      <table className="ledger">
        <thead>
          <tr>
            <th scope="col">Assumption</th>
            <th scope="col" className="number">
              Heaters of {formatNumber(heaters)}
            </th>
          </tr>
        </thead>
        <tbody>
          {assumed.map((row) => (
            <tr key={row.words}>
              <td className="sentence">{row.words}</td>
              <td className="number">{formatNumber(row.heaters)}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </LedgerFrame>
  );
}

function PolicyTable({ account }: { readonly account: Account }) {
  const nameOf = new Map<string, Policy>(account.policies.map((policy) => [policy.id, policy]));
  return (
    <LedgerFrame label="Rules broken along the plan">
      <table className="ledger">
        <thead>
          <tr>
            <th scope="col">Year</th>
            <th scope="col">Rule</th>
            <th scope="col">Finding</th>
            <th scope="col" className="number">
              Properties
            </th>
            <th scope="col" className="number">
              By how much
            </th>
            <th scope="col" className="number">
              Cost
            </th>
          </tr>
        </thead>
        <tbody>
          {account.summary.policies.map((row) => (
            <tr key={`${row.policyId} ${row.year} ${row.kind}`}>
              <th scope="row">{row.year}</th>
              <td>{nameOf.get(row.policyId)?.name}</td>
              <td>
                <span className="mark mark--attention">{FINDING_LABELS[row.kind]}</span>
              </td>
              <td className="number">{formatNumber(row.properties)}</td>
              <td className="number">
                {row.kind === "over-limit"
                  ? formatKilograms(row.amount)
                  : row.kind === "cannot-be-checked"
                    ? "–"
                    : `${formatNumber(row.amount)} heaters`}
              </td>
              <td className="number">
                {row.cents === null ? "–" : `$${formatNumber(row.cents / 100)}`}
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </LedgerFrame>
  );
}
