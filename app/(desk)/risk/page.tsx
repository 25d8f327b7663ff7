import type { Metadata } from "next";
import Link from "next/link";
import { Chart } from "@/app/_components/chart";
import { Figure, Figures } from "@/app/_components/figure";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import { PageHeading } from "@/app/_components/page-heading";
import { TechnologyMark } from "@/app/_components/technology-mark";
import { formatDay, formatMoney, formatNumber, formatShare } from "@/app/_lib/format";
import { today } from "@/app/_lib/today";
import { requireViewer } from "@/app/_lib/viewer";
import { INSTALL_EVIDENCE_LABELS, type Technology } from "@/lib/core/heaters/vocabulary";
import { addYears, type CalendarDay } from "@/lib/core/shared/calendar-day";
import { RANKING_PAGE_SIZE, type RiskView, readRisk, riskQuerySchema } from "@/lib/services/risk";
import { FitSections } from "./_components/fit-sections";
import { FreshWatch } from "./_components/fresh-watch";
import { GroupTable } from "./_components/group-table";
import { ModelNotice } from "./_components/model-notice";
import { PriorTable } from "./_components/prior-table";
import { RankingTable } from "./_components/ranking-table";
import { RecordSection } from "./_components/record-section";
import styles from "./_components/risk.module.css";

export const metadata: Metadata = { title: "Risk" };

type Search = Readonly<Record<string, string | string[] | undefined>>;

export default async function RiskPage({
  searchParams,
}: {
  readonly searchParams: Promise<Search>;
}) {
  const viewer = await requireViewer();
  const query = riskQuerySchema.parse(await searchParams);
  const day = today();
  const view = await readRisk(viewer, query, day);
  const address = (changes: Partial<typeof query>, path = "/risk") => {
    const { order, property, page } = { ...query, ...changes };
    const next = new URLSearchParams();
    if (order !== "chance") next.set("order", order);
    if (property) next.set("property", property);
    if (page > 1) next.set("page", String(page));
    return `${path}${next.size > 0 ? `?${next}` : ""}`;
  };
  const { freshness } = view;

  return (
    <>
      <PageHeading title="Risk" question="Which ones first, and can I believe it?">
        <Link className="button" href="/risk/fits">
          Fits
        </Link>
        <a className="button" href={address({ page: 1 }, "/risk/ranking.csv")} download>
          Ranking as CSV
        </a>
      </PageHeading>
      <form className="filter" method="get" aria-label="Filter">
        {query.order !== "chance" && <input type="hidden" name="order" value={query.order} />}
        <div className="field">
          <label htmlFor="property">Property</label>
          <select id="property" name="property" defaultValue={query.property ?? ""}>
            <option value="">All properties</option>
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
      <Freshness view={view} day={day} />
      {freshness.inService === 0 ? (
        <div className="empty">
          <p>No heater is in service yet, so there is nothing to rank.</p>
          <Link className="button" href="/import">
            Bring in a spreadsheet
          </Link>
        </div>
      ) : view.total === 0 ? (
        <div className="empty">
          <p>
            {query.property
              ? "This property has no scored heater in service."
              : "The first scores are being computed."}
          </p>
        </div>
      ) : (
        <Ranked view={view} order={query.order} page={query.page} address={address} day={day} />
      )}
    </>
  );
}

function Freshness({ view, day }: { readonly view: RiskView; readonly day: CalendarDay }) {
  const { asOf, inService, scored, isComing } = view.freshness;
  if (inService === 0) return null;
  const missing = inService - scored;
  const isOld = asOf !== null && asOf < day;
  return (
    <div className={isComing ? "notice notice--attention" : "small soft"} role="status">
      {asOf && (
        <p>
          {isOld ? `Oldest score is of ${formatDay(asOf)}` : `Scored today, ${formatDay(asOf)}`}, by{" "}
          {view.inUse ? `fit ${view.inUse.fit.number}` : "published lifetimes"}.
        </p>
      )}
      {missing > 0 && (
        <p>
          {formatNumber(missing)} of {formatNumber(inService)} heaters are not scored yet.
        </p>
      )}
      {isComing && (
        <>
          <p>A new pass over all heaters is under way; this page shows it when it is done.</p>
          <FreshWatch />
        </>
      )}
    </div>
  );
}

type Address = (changes: {
  readonly order?: "chance" | "loss";
  readonly property?: string;
  readonly page?: number;
}) => string;

function Ranked({
  view,
  order,
  page,
  address,
  day,
}: {
  readonly view: RiskView;
  readonly order: "chance" | "loss";
  readonly page: number;
  readonly address: Address;
  readonly day: CalendarDay;
}) {
  const asOf = view.freshness.asOf ?? day;
  return (
    <>
      <ModelNotice view={view} />
      <RiskFigures view={view} />
      <section className="section" aria-labelledby="ranking">
        <h2 id="ranking">Which ones first</h2>
        <nav className={styles.order} aria-label="Order of the ranking">
          <span className="soft">Ranked by</span>
          <Link
            href={address({ order: "chance", page: 1 })}
            aria-current={order === "chance" ? "true" : undefined}
          >
            chance in 12 months
          </Link>
          <Link
            href={address({ order: "loss", page: 1 })}
            aria-current={order === "loss" ? "true" : undefined}
          >
            expected loss
          </Link>
        </nav>
        {view.ranking.length === 0 ? (
          <p className="soft">
            The ranking ends before this page. <Link href={address({ page: 1 })}>First page</Link>
          </p>
        ) : (
          <RankingTable rows={view.ranking} order={order} />
        )}
        <Pages page={page} total={view.total} address={address} />
      </section>
      <div className="columns">
        <section className="section" aria-labelledby="ahead">
          <h2 id="ahead">Failures ahead</h2>
          <AheadChart view={view} asOf={asOf} />
        </section>
        <section className="section" aria-labelledby="spread">
          <h2 id="spread">The fleet by chance</h2>
          <ChanceChart byChance={view.groups.byChance} total={view.total} />
        </section>
      </div>
      <div className="columns">
        <div className="section">
          <section className="section" aria-labelledby="by-kind">
            <h2 id="by-kind">By kind, next 12 months</h2>
            <GroupTable
              label="Heaters by kind"
              groupName="Kind"
              groups={view.groups.byTechnology}
              nameOf={({ key }) => <TechnologyMark technology={key as Technology} />}
            />
          </section>
          <section className="section" aria-labelledby="install-days">
            <h2 id="install-days">Install days</h2>
            <InstallDays view={view} />
          </section>
        </div>
        <section className="section" aria-labelledby="by-property">
          <h2 id="by-property">By property, next 12 months</h2>
          <GroupTable
            label="Heaters by property"
            groupName="Property"
            groups={view.groups.byProperty}
            nameOf={({ key, name }) => (
              <Link href={address({ property: key, page: 1 })}>{name}</Link>
            )}
          />
        </section>
      </div>
      {view.inUse && <FitSections detail={view.inUse} />}
      <section className="section" aria-labelledby="record">
        <h2 id="record">Held against the record</h2>
        <RecordSection comparison={view.comparison} asOf={asOf} hasLearnt={view.inUse !== null} />
      </section>
      <section className="section" aria-labelledby="rests-on">
        <h2 id="rests-on">What it rests on</h2>
        <p>
          Each heater starts with the lifetime of its kind; water, setpoint, care and use speed its
          wear up or slow it down. Most of these sizes are expert ranges, so they are wide. What is
          not known of a heater takes the value of an ordinary one.
        </p>
        <PriorTable />
      </section>
    </>
  );
}

function RiskFigures({ view }: { readonly view: RiskView }) {
  const [next] = view.ahead;
  const sum = (of: (group: RiskView["groups"]["byTechnology"][number]) => number) =>
    view.groups.byTechnology.reduce((total, group) => total + of(group), 0);
  const failures = sum((group) => group.expectedFailures);
  const { count, entered } = view.assumptions;
  const estimated = countEstimated(view);
  return (
    <Figures>
      <Figure label="Heaters ranked" value={formatNumber(view.total)}>
        <p>Every heater in service, scored as of {formatDay(view.freshness.asOf ?? "")}.</p>
      </Figure>
      <Figure label="Failures expected, next 12 months" value={formatNumber(failures)}>
        <p>
          The sum of all chances: {formatNumber(failures, 1)}, or{" "}
          {formatShare(failures / view.total)} of the heaters.
        </p>
        {next && (
          <p>
            Nine times in ten between {formatNumber(next.band.low)} and{" "}
            {formatNumber(next.band.high)}, chance and the model’s own doubt together.
          </p>
        )}
      </Figure>
      <Figure
        label="Expected loss, next 12 months"
        value={formatMoney(sum((group) => group.expectedLossCents))}
      >
        <p>
          Each chance times what the failure would cost beyond a planned swap: emergency premium,
          water damage by place, days without hot water.
        </p>
        <p>
          {formatNumber(count - entered)} of {formatNumber(count)} cost assumptions are not your own
          yet: <Link href="/settings/costs">enter them</Link>.
        </p>
      </Figure>
      <Figure label="Install days that are estimates" value={formatNumber(estimated)}>
        <p>
          {formatNumber(estimated)} of {formatNumber(view.total)}: the day is a bracket, an estimate
          or not known. Their chance is averaged over the days it may have been.
        </p>
      </Figure>
    </Figures>
  );
}

const GUESSES: ReadonlySet<string> = new Set(["staff-estimate", "building-age", "none"]);

function countEstimated({ groups }: RiskView): number {
  return groups.byInstallEvidence
    .filter(({ evidence, width }) => width !== "day" || GUESSES.has(evidence))
    .reduce((total, { heaters }) => total + heaters, 0);
}

function Pages({
  page,
  total,
  address,
}: {
  readonly page: number;
  readonly total: number;
  readonly address: Address;
}) {
  const pages = Math.ceil(total / RANKING_PAGE_SIZE);
  if (pages <= 1) return null;
  return (
    <nav className={styles.pages} aria-label="Pages of the ranking">
      {page > 1 && <Link href={address({ page: page - 1 })}>Previous {RANKING_PAGE_SIZE}</Link>}
      <span className="soft">
        Page {formatNumber(page)} of {formatNumber(pages)}
      </span>
      {page < pages && <Link href={address({ page: page + 1 })}>Next {RANKING_PAGE_SIZE}</Link>}
    </nav>
  );
}

function AheadChart({ view, asOf }: { readonly view: RiskView; readonly asOf: CalendarDay }) {
  const { ahead } = view;
  if (ahead.length === 0) return <p className="soft">Not computed yet.</p>;
  const [first] = ahead;
  const last = ahead[ahead.length - 1];
  const all = ahead.reduce((total, { expected }) => total + expected, 0);
  return (
    <Chart
      title="First failures if nothing is replaced ahead"
      summary={`${formatNumber(first.expected)} in the next 12 months, ${formatNumber(last.expected)} in year ${last.year}; ${formatNumber(all)} of ${formatNumber(view.total)} heaters within ${last.year} years. The band holds nine counts in ten, chance and the model's own doubt together.`}
      labelsName="12 months to"
      labels={ahead.map(({ year }) => addYears(asOf, year).slice(0, 7))}
      unit="failures a year"
      format="decimal"
      series={[
        {
          label: "Expected",
          values: ahead.map(({ expected }) => expected),
          ink: "copper",
          kind: "line",
          band: {
            low: ahead.map(({ band }) => band.low),
            high: ahead.map(({ band }) => band.high),
          },
        },
      ]}
    />
  );
}

const CHANCE_LABELS = [
  "below 2 %",
  "2 to 5 %",
  "5 to 10 %",
  "10 to 20 %",
  "20 to 35 %",
  "35 to 50 %",
  "50 % or more",
];

function ChanceChart({
  byChance,
  total,
}: {
  readonly byChance: readonly number[];
  readonly total: number;
}) {
  const high = byChance.slice(4).reduce((sum, count) => sum + count, 0);
  return (
    <Chart
      title="Heaters by chance of failing within 12 months"
      summary={`${formatNumber(high)} of ${formatNumber(total)} heaters have a chance of 20 % or more; ${formatNumber(byChance[6])} are likelier than not to fail.`}
      labelsName="Chance in 12 months"
      labels={CHANCE_LABELS}
      unit="heaters"
      series={[{ label: "Heaters", values: byChance, ink: "copper" }]}
    />
  );
}

const WIDTH_LABELS = {
  day: "to the day",
  years: "within two years",
  wide: "wider than two years",
} as const;

function InstallDays({ view }: { readonly view: RiskView }) {
  const estimated = countEstimated(view);
  return (
    <>
      <p>
        {formatNumber(estimated)} of {formatNumber(view.total)} install days are estimates or not
        known. Age matters most, so these are the days most worth looking up.
      </p>
      <LedgerFrame label="What the install days rest on">
        <table className="ledger">
          <thead>
            <tr>
              <th scope="col">Rests on</th>
              <th scope="col">Known</th>
              <th scope="col" className="number">
                Heaters
              </th>
              <th scope="col" className="number">
                Share
              </th>
            </tr>
          </thead>
          <tbody>
            {view.groups.byInstallEvidence.map(({ evidence, width, heaters }) => (
              <tr key={`${evidence}-${width}`}>
                <th scope="row">{INSTALL_EVIDENCE_LABELS[evidence]}</th>
                <td>{WIDTH_LABELS[width]}</td>
                <td className="number">{formatNumber(heaters)}</td>
                <td className="number">{formatShare(heaters / view.total)}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </LedgerFrame>
    </>
  );
}
