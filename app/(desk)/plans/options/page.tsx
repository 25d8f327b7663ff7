import type { Metadata } from "next";
import Link from "next/link";
import { Caution } from "@/app/_components/caution";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import { PageHeading } from "@/app/_components/page-heading";
import { TechnologyMark } from "@/app/_components/technology-mark";
import { formatMoney } from "@/app/_lib/format";
import { requireViewer } from "@/app/_lib/viewer";
import styles from "@/app/(desk)/plans/_components/plans.module.css";
import { optionChoice } from "@/app/(desk)/plans/_lib/option-choices";
import { CAUTIONS } from "@/lib/core/heaters/cautions";
import { COST_PART_LABELS, COST_PARTS } from "@/lib/core/planning/options";
import { type CatalogueOption, readCatalogue } from "@/lib/services/option-catalogue";
import { EVIDENCE_LABELS } from "@/lib/services/option-form";
import { AddOption } from "./add-option";

export const metadata: Metadata = { title: "Options catalogue" };

export default async function OptionsPage() {
  const { options, mayEdit, startingOptions } = await readCatalogue(await requireViewer());
  const parts = options.map(optionChoice);
  const assumed = parts.reduce((sum, { assumedParts }) => sum + assumedParts, 0);
  const all = parts.reduce((sum, each) => sum + each.parts, 0);
  return (
    <>
      <PageHeading
        title="Options catalogue"
        question="What can take a heater’s place, at what cost, and how do we know?"
      >
        <Link href="/plans">All scenarios</Link>
      </PageHeading>
      <p>
        {assumed === 0 ? (
          "Every cost part is your own or published."
        ) : (
          <>
            <span className="mark mark--attention">
              {assumed} of {all} cost parts
            </span>{" "}
            are not your own figures yet. Put in what your last swaps really cost: plans computed
            afterwards use it, plans computed before keep what they were computed with.
          </>
        )}
      </p>
      <LedgerFrame label="Options">
        <table className={`ledger ${styles.wide}`}>
          <thead>
            <tr>
              <th scope="col">Option</th>
              <th scope="col">Kind</th>
              <th scope="col" className="number">
                Swap, low to high
              </th>
              <th scope="col" className="number">
                Likely
              </th>
              <th scope="col" className="number">
                Closet work, up to
              </th>
              <th scope="col" className="number">
                Incentives
              </th>
              <th scope="col" className="number">
                Energy factor
              </th>
              <th scope="col" className="number">
                Life, years
              </th>
              <th scope="col" className="number">
                Crew hours
              </th>
              <th scope="col">State</th>
              {mayEdit && <th scope="col">Do</th>}
            </tr>
          </thead>
          <tbody>
            {options.map((option) => {
              const choice = optionChoice(option);
              return (
                <tr key={option.code}>
                  <th scope="row">
                    {option.name}
                    <div className="small soft">
                      {option.code}
                      {option.terms.perHome && ": the plant; more for every home"}
                    </div>
                  </th>
                  <td>
                    <TechnologyMark technology={option.terms.technology} />
                  </td>
                  <td className="number">
                    {formatMoney(choice.swapCents.low)} to {formatMoney(choice.swapCents.high)}
                  </td>
                  <td className="number">{formatMoney(choice.swapCents.likely)}</td>
                  <td className="number">{formatMoney(choice.workCents)}</td>
                  <td className="number">{formatMoney(choice.incentiveCents)}</td>
                  <td className="number">{option.terms.uniformEnergyFactor.value}</td>
                  <td className="number">{option.terms.expectedLifeYears.value}</td>
                  <td className="number">{option.terms.crewHours.value}</td>
                  <td>{option.isActive ? "in use" : "not offered"}</td>
                  {mayEdit && (
                    <td>
                      <Link
                        href={`/plans/options/${option.code}`}
                        aria-label={`Edit ${option.name}`}
                      >
                        Edit
                      </Link>
                    </td>
                  )}
                </tr>
              );
            })}
          </tbody>
        </table>
      </LedgerFrame>
      {mayEdit && (
        <section className="section">
          <h2>Add an option</h2>
          <AddOption
            starting={startingOptions.map(({ code, name }) => ({ code, name }))}
            own={options.map(({ code, name }) => ({ code, name }))}
          />
        </section>
      )}
      <section className="section">
        <h2>What each cost is made of</h2>
        {options.map((option) => (
          <details key={option.code}>
            <summary>{option.name}</summary>
            <PartsTable label={`Cost parts of ${option.name}`} costs={option.terms.costs} />
            {option.terms.perHome && (
              <>
                <h3>More for every home behind it</h3>
                <PartsTable
                  label={`Cost parts of ${option.name} a home`}
                  costs={option.terms.perHome.costs}
                />
              </>
            )}
          </details>
        ))}
      </section>
      <div className="columns">
        <Caution>{CAUTIONS.electrical}</Caution>
        <Caution>{CAUTIONS["gas-capoff"]}</Caution>
      </div>
    </>
  );
}

function PartsTable({
  label,
  costs,
}: {
  readonly label: string;
  readonly costs: CatalogueOption["terms"]["costs"];
}) {
  return (
    <LedgerFrame label={label}>
      <table className={`ledger ${styles.medium}`}>
        <thead>
          <tr>
            <th scope="col">Part</th>
            <th scope="col" className="number">
              Low
            </th>
            <th scope="col" className="number">
              Likely
            </th>
            <th scope="col" className="number">
              High
            </th>
            <th scope="col">Evidence</th>
            <th scope="col">Source</th>
          </tr>
        </thead>
        <tbody>
          {COST_PARTS.map((part) => {
            const range = costs[part];
            if (!range) return null;
            return (
              <tr key={part}>
                <th scope="row">{COST_PART_LABELS[part]}</th>
                <td className="number">{formatMoney(range.lowCents)}</td>
                <td className="number">{formatMoney(range.likelyCents)}</td>
                <td className="number">{formatMoney(range.highCents)}</td>
                <td>
                  <span
                    className={range.evidence === "assumed" ? "mark mark--attention" : undefined}
                  >
                    {EVIDENCE_LABELS[range.evidence]}
                  </span>
                </td>
                <td>{range.source}</td>
              </tr>
            );
          })}
        </tbody>
      </table>
    </LedgerFrame>
  );
}
