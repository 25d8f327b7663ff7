import type { Metadata } from "next";
import Link from "next/link";
import type { ReactNode } from "react";
import { Figure, Figures } from "@/app/_components/figure";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import { PageHeading } from "@/app/_components/page-heading";
import {
  formatDay,
  formatKilograms,
  formatMoney,
  formatNumber,
  formatShare,
} from "@/app/_lib/format";
import { today } from "@/app/_lib/today";
import { requireViewer } from "@/app/_lib/viewer";
import type { Role } from "@/lib/core/shared/roles";
import { readToday, type TodayView } from "@/lib/services/today";

export const metadata: Metadata = { title: "Today" };

const PARTS = ["capital", "upkeep", "emissions"] as const;
type Part = (typeof PARTS)[number];

/** Whose matter comes first; everybody sees all of it. */
const FIRST_PART: Readonly<Record<Role, Part>> = {
  owner: "capital",
  manager: "capital",
  maintenance: "upkeep",
  sustainability: "emissions",
  viewer: "capital",
};

export default async function TodayPage() {
  const viewer = await requireViewer();
  const day = today();
  const view = await readToday(viewer, day);
  if (view.counts.inService === 0) return <FirstSteps />;
  const first = FIRST_PART[viewer.role];
  const order = [first, ...PARTS.filter((part) => part !== first)];
  return (
    <>
      <PageHeading title="Today" question={`What needs you? ${formatDay(day)}`} />
      {view.waiting.runsUnderWay > 0 && (
        <p className="notice">
          A plan is being computed. <Link href="/plans">See how far it is</Link>.
        </p>
      )}
      {view.waiting.stagedImports > 0 && (
        <p className="notice notice--attention">
          {formatNumber(view.waiting.stagedImports)} spreadsheet
          {view.waiting.stagedImports === 1 ? " waits" : "s wait"} for a decision.{" "}
          <Link href="/import">Look at what would change</Link>.
        </p>
      )}
      {order.map((part) => (
        <section className="section" key={part}>
          {SECTIONS[part](view)}
        </section>
      ))}
    </>
  );
}

const SECTIONS: Readonly<Record<Part, (view: TodayView) => ReactNode>> = {
  capital: Capital,
  upkeep: Upkeep,
  emissions: Emissions,
};

function Capital(view: TodayView) {
  const { counts, plan, worst, freshness } = view;
  return (
    <>
      <h2>Risk and capital</h2>
      <Figures>
        <Figure label="Heaters in service" value={formatNumber(counts.inService)}>
          <p>
            {formatNumber(counts.estimatedInstallDays)} install days are estimates or brackets.{" "}
            <Link href="/heaters">The register</Link> says which.
          </p>
        </Figure>
        <Figure
          label="Failures expected in 12 months"
          value={counts.scored > 0 ? formatNumber(counts.expectedFailures, 0) : "–"}
        >
          <p>
            The sum of every heater's own chance
            {freshness.asOf && `, scored ${formatDay(freshness.asOf)}`}.{" "}
            <Link href="/risk">How the chances are found</Link>.
          </p>
        </Figure>
        <Figure
          label="Expected loss in 12 months"
          value={counts.scored > 0 ? formatMoney(counts.expectedLossCents) : "–"}
        >
          <p>
            Chance times consequence: what an emergency costs beyond a planned swap, damage by
            place, days without hot water. The inputs are under{" "}
            <Link href="/settings">Settings</Link>.
          </p>
        </Figure>
        {plan?.headline ? (
          <Figure label={`Planned swaps, ${plan.name}`} value={formatNumber(plan.headline.swaps)}>
            <p>
              {formatMoney(plan.headline.spendCents)} over the horizon;{" "}
              {formatNumber(plan.headline.emergenciesRunToFailure - plan.headline.emergencies)}{" "}
              emergencies fewer than running to failure.{" "}
              {plan.gap !== null &&
                `No schedule can be more than ${formatShare(plan.gap, 2)} better. `}
              <Link href={`/plans/${plan.id}`}>Open the plan</Link>.
            </p>
          </Figure>
        ) : (
          <Figure label="Plan" value="None yet">
            <p>
              <Link href="/plans">Make the first one</Link>: its defaults give a plan at once.
            </p>
          </Figure>
        )}
      </Figures>
      {freshness.isComing && (
        <p className="small soft">The ranking is being renewed; the figures follow in a moment.</p>
      )}
      {worst.length > 0 && (
        <LedgerFrame label="Heaters with the largest expected loss">
          <table className="ledger">
            <caption>Largest expected loss in 12 months</caption>
            <thead>
              <tr>
                <th scope="col">Heater</th>
                <th scope="col">Where</th>
                <th scope="col" className="number">
                  Chance in 12 months
                </th>
                <th scope="col" className="number">
                  Expected loss
                </th>
              </tr>
            </thead>
            <tbody>
              {worst.map((heater) => (
                <tr key={heater.heaterId}>
                  <th scope="row">
                    <Link href={`/heaters/${heater.heaterId}`} prefetch={false}>
                      {heater.tag}
                    </Link>
                  </th>
                  <td>
                    {heater.property}, {heater.building}
                  </td>
                  <td className="number">{formatShare(heater.failureProbability)}</td>
                  <td className="number">{formatMoney(heater.expectedLossCents)}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </LedgerFrame>
      )}
    </>
  );
}

function Upkeep({ waiting }: TodayView) {
  return (
    <>
      <h2>Upkeep</h2>
      <Figures>
        <Figure label="Emergencies this year" value={formatNumber(waiting.emergenciesThisYear)}>
          <p>
            Of {formatNumber(waiting.retiredThisYear)} heaters that left service this year. An
            emergency is one where hot water was lost before the swap was arranged.
          </p>
        </Figure>
        <Figure label="Visits in the last 30 days" value={formatNumber(waiting.visitsLast30Days)} />
      </Figures>
      <div className="actions">
        <Link className="button" href="/upkeep">
          What is due
        </Link>
      </div>
    </>
  );
}

function Emissions({ plan }: TodayView) {
  return (
    <>
      <h2>Emissions</h2>
      {plan?.headline && (
        <Figures>
          <Figure
            label="Emissions over the plan's horizon"
            value={formatKilograms(plan.headline.kg)}
          >
            <p>{formatKilograms(plan.headline.kgRunToFailure)} when run to failure.</p>
          </Figure>
          <Figure
            label="Cut against running to failure"
            value={formatShare(1 - plan.headline.kg / Math.max(1, plan.headline.kgRunToFailure), 0)}
          />
        </Figures>
      )}
      <div className="actions">
        <Link className="button" href="/emissions">
          This year's account
        </Link>
      </div>
    </>
  );
}

function FirstSteps() {
  return (
    <>
      <PageHeading title="Today" question="From a spreadsheet to a first plan" />
      <ol>
        <li>
          <Link href="/import">Bring in the spreadsheet of heaters you have.</Link> Columns are
          guessed; nothing is written before you have seen what would change.
        </li>
        <li>
          <Link href="/settings">Look at the numbers</Link> that are assumed until you edit them.
        </li>
        <li>
          <Link href="/plans">Make a plan</Link> from your budget.
        </li>
      </ol>
    </>
  );
}
