import type { Metadata } from "next";
import Link from "next/link";
import { Figure, Figures } from "@/app/_components/figure";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import { PageHeading } from "@/app/_components/page-heading";
import { TechnologyMark } from "@/app/_components/technology-mark";
import { formatNumber, formatShare } from "@/app/_lib/format";
import { today } from "@/app/_lib/today";
import { requireViewer } from "@/app/_lib/viewer";
import { SiteFilter } from "@/app/(desk)/sites/_components/site-filter";
import styles from "@/app/(desk)/sites/_components/sites.module.css";
import { one, type Search } from "@/app/(desk)/sites/_lib/search";
import { isHeatPump } from "@/lib/core/heaters/vocabulary";
import { readSpares, type SparesView } from "@/lib/services/spares";
import { SPARES_START } from "@/lib/services/spares-form";
import { SparesForm } from "./spares-form";

export const metadata: Metadata = { title: "Spares" };

export default async function SparesPage({
  searchParams,
}: {
  readonly searchParams: Promise<Search>;
}) {
  const view = await readSpares(
    await requireViewer(),
    one(await searchParams, "property"),
    today(),
  );
  const { terms, lines, mayEdit } = view;
  return (
    <>
      <PageHeading
        title="Spares"
        question="How many heaters of each kind must be ordered ahead, so that a failure meets one within a day?"
      />
      <SiteFilter {...view} />
      {view.heaters === 0 ? (
        <div className="empty">
          <p>No heater is in service here, so none need be kept.</p>
        </div>
      ) : (
        <>
          <SpareFigures view={view} />
          <SparesTable view={view} />
        </>
      )}
      {mayEdit ? (
        <SparesForm
          key={JSON.stringify(terms)}
          lines={lines.map(({ code, name }) => ({ code, name }))}
          servicePercent={terms.servicePercent}
          generalLeadDays={terms.generalLeadDays}
          leadDays={terms.leadDays}
          onHand={terms.onHand}
        />
      ) : null}
      <p className="small soft">
        {terms.isEntered
          ? "Lead times and chance are your own."
          : `Assumed until you enter your own: ${SPARES_START.leadDays.value} days (${SPARES_START.leadDays.source}), ${SPARES_START.servicePercent.value} % (${SPARES_START.servicePercent.source}).`}{" "}
        Failures by the risk model in use ({view.method}); their number within a lead time is taken
        as Poisson{view.draws > 0 ? `, and the model’s own doubt by ${view.draws} draws of it` : ""}
        . What each heater gets is what its <Link href="/sites/cards">emergency card</Link> says.
      </p>
    </>
  );
}

function SpareFigures({ view: { lines, terms, unmet } }: { readonly view: SparesView }) {
  const pumps = lines.filter(({ technology }) => isHeatPump(technology));
  const sum = (of: (line: SparesView["lines"][number]) => number, among = lines) =>
    among.reduce((total, line) => total + of(line), 0);
  return (
    <Figures>
      <Figure
        label="Heat pumps to keep, as places are"
        value={formatNumber(sum(({ today: need }) => need.stock, pumps))}
      >
        <p>
          For the heaters whose place is ready today:{" "}
          {formatNumber(sum(({ today: need }) => need.heaters, pumps))}, with{" "}
          {formatNumber(
            sum(({ today: need }) => need.expected, pumps),
            2,
          )}{" "}
          failures expected within the lead time.
        </p>
      </Figure>
      <Figure
        label="Heat pumps to keep, places made ready"
        value={formatNumber(sum(({ whenReady }) => whenReady.stock, pumps))}
      >
        <p>
          If every place were made ready for the first approved option that can go there:{" "}
          {formatNumber(sum(({ whenReady }) => whenReady.heaters, pumps))} heaters,{" "}
          {formatNumber(
            sum(({ whenReady }) => whenReady.expected, pumps),
            2,
          )}{" "}
          failures expected.
        </p>
      </Figure>
      <Figure
        label="Chance asked"
        value={`${formatNumber(terms.servicePercent, terms.servicePercent % 1 ? 1 : 0)} %`}
      >
        <p>That every failure of one lead time is met from what is kept, kind by kind.</p>
      </Figure>
      <Figure label="Would meet nothing listed" value={formatNumber(unmet)}>
        <p>Heaters for which no option of the emergency lists can go in; no spare helps them.</p>
      </Figure>
    </Figures>
  );
}

function SparesTable({ view: { lines } }: { readonly view: SparesView }) {
  return (
    <LedgerFrame label="Spares by kind">
      <table className={`ledger ${styles.wide}`}>
        <thead>
          <tr>
            <th scope="col">Kind</th>
            <th scope="col" className="number">
              Lead time, days
            </th>
            <th scope="col" className="number">
              Heaters
            </th>
            <th scope="col" className="number">
              Expected failures
            </th>
            <th scope="col" className="number">
              Keep
            </th>
            <th scope="col" className="number">
              All met
            </th>
            <th scope="col" className="number">
              Met from stock
            </th>
            <th scope="col" className="number">
              Have
            </th>
            <th scope="col">Do</th>
            <th scope="col" className="number">
              Keep, places made ready
            </th>
          </tr>
        </thead>
        <tbody>
          {lines.map((line) => {
            const { today: need, whenReady, onHand } = line;
            const short = need.stock - onHand;
            return (
              <tr key={line.code}>
                <th scope="row">
                  {line.name}
                  <div>
                    <TechnologyMark technology={line.technology} />
                  </div>
                </th>
                <td className="number">{line.leadDays}</td>
                <td className="number">{formatNumber(need.heaters)}</td>
                <td className="number">{formatNumber(need.expected, 2)}</td>
                <td className="number">
                  <strong>{need.stock}</strong>
                </td>
                <td className="number">{formatShare(need.chanceAllMet)}</td>
                <td className="number">{formatShare(need.shareMetFromStock)}</td>
                <td className="number">{onHand}</td>
                <td>
                  {short > 0 ? (
                    <span className="mark mark--attention">order {short}</span>
                  ) : (
                    "enough"
                  )}
                </td>
                <td className="number">
                  {whenReady.stock}
                  <div className="small soft">of {formatNumber(whenReady.heaters)} heaters</div>
                </td>
              </tr>
            );
          })}
        </tbody>
      </table>
    </LedgerFrame>
  );
}
