import type { Metadata } from "next";
import Link from "next/link";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import { formatDay, formatKilograms, formatNumber, formatShare } from "@/app/_lib/format";
import { today } from "@/app/_lib/today";
import { requireViewer } from "@/app/_lib/viewer";
import { activityName, gasName } from "@/app/(desk)/emissions/_lib/words";
import { type EmissionLine, locationTotal } from "@/lib/core/emissions/annual-emissions";
import { COVERAGE_LABELS, coveredKg } from "@/lib/core/emissions/target";
import { readEmissions } from "@/lib/services/emissions";
import { PrintButton } from "./print-button";
import styles from "./statement.module.css";

export const metadata: Metadata = { title: "Emissions statement" };

type Search = Readonly<Record<string, string | string[] | undefined>>;

export default async function StatementPage({
  searchParams,
}: {
  readonly searchParams: Promise<Search>;
}) {
  const viewer = await requireViewer();
  const { account: asked } = await searchParams;
  const runId = typeof asked === "string" ? asked : null;
  const { account } = await readEmissions(viewer, { runId, propertyId: null }, today());
  if (!account) {
    return (
      <div className="empty">
        <p>There is no account to state yet.</p>
        <Link className="button" href="/emissions">
          Compute one
        </Link>
      </div>
    );
  }
  const { run, summary } = account;
  const { kgCo2e, base } = summary;
  const covered = coveredKg(kgCo2e, summary.coverage);
  const target = summary.target.find(({ year }) => year === summary.year);
  return (
    <article className={styles.statement}>
      <div className="actions">
        <PrintButton />
      </div>
      <h2>
        Emissions of water heating, {summary.year}: {viewer.organizationName}
      </h2>
      {viewer.isDemo && <p className="small">Invented demo portfolio: every figure is made up.</p>}
      <LedgerFrame label="Emissions by scope">
        <table className="ledger">
          <caption>CO2-equivalent, IPCC {summary.gwpSet} potentials over 100 years</caption>
          <tbody>
            <Total
              label="Scope 1: fuel on the owner’s meters, refrigerant lost"
              kg={kgCo2e.scope1}
            />
            <Total label="Scope 2, location-based" kg={kgCo2e.scope2Location} />
            <Total
              label="Scope 2, market-based (never added to the line above)"
              kg={kgCo2e.scope2Market}
            />
            <Total label="Scope 3, category 13: energy that residents buy" kg={kgCo2e.scope3} />
          </tbody>
          <tfoot>
            <tr>
              <th scope="row">Scopes 1, 2 (location-based) and 3</th>
              <td className="number">{formatKilograms(locationTotal(kgCo2e))}</td>
            </tr>
          </tfoot>
        </table>
      </LedgerFrame>
      <p>
        {COVERAGE_LABELS[summary.coverage]}: {formatKilograms(covered)} against{" "}
        {formatKilograms(base.comparedKg)} in the base year {summary.baseYear}
        {base.comparedKg > 0 &&
          `, ${formatShare(Math.abs(1 - covered / base.comparedKg))} ${covered <= base.comparedKg ? "less" : "more"}`}
        {base.adoptedKg === null && " (base year by today’s record, not adopted)"}
        {target && `; the target allows ${formatKilograms(target.kgCo2e)}`}.
      </p>
      <p>
        Boundary: {formatNumber(summary.heaters)} water heaters that served{" "}
        {formatNumber(summary.homes)} homes in {formatNumber(summary.properties)} properties. Energy
        metered: {formatKilograms(summary.kgCo2eByBasis.metered)}; modelled and calibrated to
        meters: {formatKilograms(summary.kgCo2eByBasis.calibrated)}; modelled:{" "}
        {formatKilograms(summary.kgCo2eByBasis.modelled)}. {formatNumber(summary.assumed.length)}{" "}
        kinds of assumption are listed in the workbook.
      </p>
      <h3>Factors</h3>
      <LedgerFrame label="Factors">
        <table className="ledger">
          <thead>
            <tr>
              <th scope="col">Of what</th>
              <th scope="col">Gas</th>
              <th scope="col" className="number">
                Factor
              </th>
              <th scope="col" className="number">
                Vintage
              </th>
              <th scope="col">Source</th>
            </tr>
          </thead>
          <tbody>
            {factorsOf(summary.lines).map(({ factor, gas }) => (
              <tr key={factor.id}>
                <td>{activityName(factor)}</td>
                <td>{gasName(gas)}</td>
                <td className="number">
                  {factor.value} {factor.unit === "gwp" ? "kg/kg" : factor.unit}
                </td>
                <td className="number">{factor.vintage}</td>
                <td>
                  {factor.source} ({factor.evidence})
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      </LedgerFrame>
      <p className="small">
        Apart from the account: {formatKilograms(summary.apart.avoidedKg)} avoided by the swaps
        since {summary.baseYear}
        {summary.apart.upstreamMethane &&
          `; ${formatKilograms(summary.apart.upstreamMethane.kgCo2e)} of methane lost before the gas meters`}
        . Method {run.method}, as of {formatDay(run.asOf)}. Fingerprint{" "}
        <span className={styles.fingerprint}>{run.fingerprint}</span>. Not verified by a third party
        unless a verifier’s opinion is attached.
      </p>
    </article>
  );
}

function Total({ label, kg }: { readonly label: string; readonly kg: number }) {
  return (
    <tr>
      <th scope="row">{label}</th>
      <td className="number">{formatKilograms(kg)}</td>
    </tr>
  );
}

function factorsOf(lines: readonly EmissionLine[]): readonly EmissionLine[] {
  return [...new Map(lines.map((line) => [line.factor.id, line])).values()];
}
