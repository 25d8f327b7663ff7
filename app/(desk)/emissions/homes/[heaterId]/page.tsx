import type { Metadata } from "next";
import Link from "next/link";
import { notFound } from "next/navigation";
import { formatKilograms } from "@/app/_lib/format";
import { today } from "@/app/_lib/today";
import { requireViewer } from "@/app/_lib/viewer";
import {
  calibrationWords,
  changeOf,
  emissionsChangeOf,
  energyChangeOf,
  energyOf,
  spaceEffectWords,
} from "@/app/(desk)/emissions/homes/home-words";
import { PrintButton } from "@/app/(desk)/emissions/statement/print-button";
import styles from "@/app/(desk)/emissions/statement/statement.module.css";
import { METER_HOLDER_LABELS, METER_HOLDERS } from "@/lib/core/energy/meters";
import { TECHNOLOGY_LABELS } from "@/lib/core/heaters/vocabulary";
import { formatCents } from "@/lib/core/shared/money";
import { readHomeSheet } from "@/lib/services/emissions-homes";

export const metadata: Metadata = { title: "A home before and after" };

/** One page for the resident of a home. */
export default async function HomeSheetPage({
  params,
}: {
  readonly params: Promise<{ readonly heaterId: string }>;
}) {
  const viewer = await requireViewer();
  const sheet = await readHomeSheet(viewer, (await params).heaterId, today());
  if (!sheet) notFound();
  const { line } = sheet;
  const { result, meters } = line;
  const { before, after, change } = result;
  return (
    <article className={styles.statement}>
      <div className="actions">
        <PrintButton />
        <Link
          className="button"
          href={`/emissions/homes?property=${sheet.propertyId}&building=${line.buildingId}`}
        >
          Homes of this building
        </Link>
      </div>
      <h2>
        Your hot water before and after: {line.home ? `home ${line.home}` : line.tag},{" "}
        {line.buildingName}, {sheet.propertyName}
      </h2>
      {viewer.isDemo && <p className="small">Invented demo portfolio: every figure is made up.</p>}
      <p>
        The water heater there now ({TECHNOLOGY_LABELS[line.technology].toLowerCase()}, {line.tag})
        would be replaced by: {line.optionName}
        {line.period ? `, planned for ${line.period}` : "; no plan sets a date yet"}. You would have
        the same hot water as now.
      </p>
      <table className="ledger">
        <caption>A year of hot water</caption>
        <thead>
          <tr>
            <th scope="col">What</th>
            <th scope="col" className="number">
              Before
            </th>
            <th scope="col" className="number">
              After
            </th>
            <th scope="col" className="number">
              Change
            </th>
          </tr>
        </thead>
        <tbody>
          <tr>
            <th scope="row">Energy</th>
            <td className="number">{energyOf(before)}</td>
            <td className="number">{energyOf(after)}</td>
            <td className="number">{energyChangeOf(result)}</td>
          </tr>
          <tr>
            <th scope="row">Cost</th>
            <td className="number">
              {formatCents(before.energy.costCentsPerYear, { whole: true })}
            </td>
            <td className="number">
              {formatCents(after.energy.costCentsPerYear, { whole: true })}
            </td>
            <td className="number">{changeOf(change.cents)}</td>
          </tr>
          {METER_HOLDERS.map((holder) => (
            <tr key={holder}>
              <th scope="row">Of it on a meter of the {holder}</th>
              <td className="number">{formatCents(before.centsPaidBy[holder], { whole: true })}</td>
              <td className="number">{formatCents(after.centsPaidBy[holder], { whole: true })}</td>
              <td className="number">{changeOf(change.centsPaidBy[holder])}</td>
            </tr>
          ))}
          <tr>
            <th scope="row">Emissions, CO2-equivalent</th>
            <td className="number">{formatKilograms(before.kgCo2e)}</td>
            <td className="number">{formatKilograms(after.kgCo2e)}</td>
            <td className="number">{emissionsChangeOf(result)}</td>
          </tr>
        </tbody>
      </table>
      <h3>Who pays</h3>
      <p>
        The fuel meter is held by: {METER_HOLDER_LABELS[meters.fuel].toLowerCase()}. The electricity
        meter is held by: {METER_HOLDER_LABELS[meters.electricity].toLowerCase()}.
        {meters.isAssumed && " This is assumed, since it is not on record."}
        {result.billMovesTo && ` The bill would move to the ${result.billMovesTo}.`}
      </p>
      <h3>Heating and cooling of the rooms</h3>
      <p>
        A heat pump takes warmth from the air around it. Where it stands in heated rooms, the
        heating makes up for it in winter and cooling is spared in summer. Here, a year:{" "}
        {spaceEffectWords(result)}. This is not in the costs above.
      </p>
      <h3>How sure these figures are</h3>
      <p>
        They are computed, at today’s prices, not read from your own meter.{" "}
        {calibrationWords(sheet.calibration, sheet.usesCalibration)} Your own use may be more or
        less.
      </p>
      {line.assumed.length > 0 && (
        <p>
          Assumed, since it is not on record ({line.assumed.length}): {line.assumed.join("; ")}.
        </p>
      )}
    </article>
  );
}
