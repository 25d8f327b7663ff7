import type { Metadata } from "next";
import Link from "next/link";
import { Caution } from "@/app/_components/caution";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import { PageHeading } from "@/app/_components/page-heading";
import { formatDay, formatMoney, formatNumber } from "@/app/_lib/format";
import { requireViewer } from "@/app/_lib/viewer";
import { type BoardRun, readScenarioBoard, type ScenarioBoard } from "@/lib/services/scenarios";
import styles from "./_components/plans.module.css";
import { RunButton } from "./_components/run-button";
import { RunStatusMark } from "./_components/run-status-mark";
import { RunWatch } from "./_components/run-watch";
import { gapWords } from "./_lib/words";

export const metadata: Metadata = { title: "Plans" };

export default async function PlansPage() {
  const board = await readScenarioBoard(await requireViewer());
  return (
    <>
      <PageHeading title="Plans" question="What do we replace when, with what, for how much?">
        <Link className="button" href="/plans/options">
          Options catalogue
        </Link>
        {board.mayEdit && (
          <Link className="button button--primary" href="/plans/new">
            New scenario
          </Link>
        )}
      </PageHeading>
      {board.scenarios.length === 0 ? <NoScenarios board={board} /> : <Scenarios board={board} />}
    </>
  );
}

function NoScenarios({ board }: { readonly board: ScenarioBoard }) {
  if (board.heatersInService === 0) {
    return (
      <div className="empty">
        <p>There are no heaters to plan for yet. Bring in your list of heaters first.</p>
        <Link className="button" href="/import">
          Bring in heaters
        </Link>
      </div>
    );
  }
  return (
    <div className="empty">
      <p>
        No scenario yet. A scenario says how long, how much money and crew time, at which prices and
        with which options; a plan is computed from it for all{" "}
        {formatNumber(board.heatersInService)} heaters in service.
      </p>
      {board.mayEdit ? (
        <Link className="button button--primary" href="/plans/new">
          Make the first one: its defaults give a plan at once
        </Link>
      ) : (
        <p>An owner or portfolio manager can make one.</p>
      )}
    </div>
  );
}

function Scenarios({ board }: { readonly board: ScenarioBoard }) {
  return (
    <section className="section">
      <p className="soft small">
        Each scenario with its latest plan, in today’s dollars. The total cost counts swaps,
        emergencies, energy, upkeep and what is left at the end.
      </p>
      <LedgerFrame label="Scenarios">
        <table className={`ledger ${styles.wide}`}>
          <thead>
            <tr>
              <th scope="col">Scenario</th>
              <th scope="col">Latest plan</th>
              <th scope="col" className="number">
                Total cost, present value
              </th>
              <th scope="col" className="number">
                Planned spend
              </th>
              <th scope="col" className="number">
                Swaps
              </th>
              <th scope="col" className="number">
                Emergencies avoided
              </th>
              <th scope="col" className="number">
                Could be better by at most
              </th>
              {board.mayEdit && <th scope="col">Do</th>}
            </tr>
          </thead>
          <tbody>
            {board.scenarios.map((scenario) => (
              <ScenarioRow key={scenario.id} scenario={scenario} mayEdit={board.mayEdit} />
            ))}
          </tbody>
        </table>
      </LedgerFrame>
      <Caution>
        A plan is an estimate for decisions. A licensed electrician decides what a service carries,
        a licensed plumber or gas fitter how an appliance is taken out; local code rules.
      </Caution>
    </section>
  );
}

function ScenarioRow({
  scenario,
  mayEdit,
}: {
  readonly scenario: ScenarioBoard["scenarios"][number];
  readonly mayEdit: boolean;
}) {
  const [latest, ...earlier] = scenario.runs;
  const earlierDone = earlier.filter((run) => run.status === "done");
  return (
    <tr>
      <th scope="row">
        {latest ? <Link href={`/plans/${latest.id}`}>{scenario.name}</Link> : scenario.name}
        <div className="small soft">
          {scenario.firstYear} to {scenario.lastYear}
          {scenario.firstYearBudgetCents !== null && (
            <>, {formatMoney(scenario.firstYearBudgetCents)} in the first year</>
          )}
        </div>
        {earlierDone.length > 0 && (
          <details className="small">
            <summary>Earlier plans ({earlierDone.length})</summary>
            <ul className={styles.list}>
              {earlierDone.slice(0, 10).map((run) => (
                <li key={run.id}>
                  <Link href={`/plans/${run.id}`}>{run.createdAt.toISOString().slice(0, 10)}</Link>
                  {run.objectiveCents !== null && <>, {formatMoney(run.objectiveCents)}</>}
                </li>
              ))}
            </ul>
          </details>
        )}
      </th>
      <td>
        {latest ? <LatestRun run={latest} /> : <span className="soft">Not computed yet</span>}
      </td>
      <RunFigures run={latest} />
      {mayEdit && (
        <td>
          <div className="actions">
            <RunButton
              scenarioId={scenario.id}
              label={latest ? "Compute again" : "Compute the plan"}
            />
            <Link href={`/plans/scenarios/${scenario.id}`} aria-label={`Edit ${scenario.name}`}>
              Edit
            </Link>
          </div>
        </td>
      )}
    </tr>
  );
}

function LatestRun({ run }: { readonly run: BoardRun }) {
  const day = run.createdAt.toISOString().slice(0, 10);
  if (run.status === "queued" || run.status === "running") {
    return <RunWatch runId={run.id} start={run} mayCancel={false} isBrief />;
  }
  return (
    <>
      <RunStatusMark status={run.status} />
      <div className="small soft">{formatDay(day)}</div>
    </>
  );
}

function RunFigures({ run }: { readonly run: BoardRun | undefined }) {
  const headline = run?.headline;
  if (!run || !headline || run.objectiveCents === null) {
    return (
      <>
        {["total", "spend", "swaps", "emergencies", "gap"].map((column) => (
          <td key={column} className="number soft">
            –
          </td>
        ))}
      </>
    );
  }
  const avoided = headline.emergenciesRunToFailure - headline.emergencies;
  return (
    <>
      <td className="number">{formatMoney(run.objectiveCents)}</td>
      <td className="number">{formatMoney(headline.spendCents)}</td>
      <td className="number">
        {formatNumber(headline.swaps)} of {formatNumber(headline.heaters)}
      </td>
      <td className="number">
        {formatNumber(avoided)} of {formatNumber(headline.emergenciesRunToFailure)}
      </td>
      <td className="number">{run.gap === null ? "not proven" : gapWords(run.gap)}</td>
    </>
  );
}
