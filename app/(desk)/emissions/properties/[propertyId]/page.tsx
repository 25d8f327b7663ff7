import type { Metadata } from "next";
import Link from "next/link";
import { notFound } from "next/navigation";
import { ActButton } from "@/app/_components/act-button";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import { formatDay, formatNumber, formatShare } from "@/app/_lib/format";
import { today } from "@/app/_lib/today";
import { requireViewer } from "@/app/_lib/viewer";
import { dropReading } from "@/app/(desk)/emissions/record-actions";
import type { Calibration } from "@/lib/core/energy/calibration";
import { READING_UNITS } from "@/lib/core/energy/meter-readings";
import { FUEL_LABELS } from "@/lib/core/heaters/vocabulary";
import { readEmissions } from "@/lib/services/emissions";
import { type EnergyProperty, readEnergyProperty } from "@/lib/services/energy";
import { ServiceError } from "@/lib/services/service-error";
import { EnergyForm } from "./energy-form";
import { ReadingForm } from "./reading-form";

export const metadata: Metadata = { title: "Meters of a property" };

export default async function PropertyMetersPage({
  params,
}: {
  readonly params: Promise<{ readonly propertyId: string }>;
}) {
  const viewer = await requireViewer();
  const { propertyId } = await params;
  const property = await find(() => readEnergyProperty(viewer, propertyId));
  const { account } = await readEmissions(viewer, { runId: null, propertyId }, today());
  const calibration = account?.property?.achieved.at(-1)?.detail.calibration ?? null;
  return (
    <>
      <section className="section">
        <p className="small">
          <Link href="/emissions/properties">All properties</Link>
        </p>
        <h2>{property.name}</h2>
        {property.mayEdit ? (
          <EnergyForm
            propertyId={property.id}
            energy={property.energy}
            version={property.version}
          />
        ) : (
          <p className="soft">
            An owner, manager or sustainability officer can change what is on record.
          </p>
        )}
      </section>
      <section className="section">
        <h2>Readings</h2>
        <CalibrationNote calibration={calibration} hasReadings={property.readings.length > 0} />
        <Readings property={property} />
        {property.mayEdit && (
          <>
            <h3>Add a reading</h3>
            <ReadingForm propertyId={property.id} buildings={property.buildings} />
          </>
        )}
      </section>
    </>
  );
}

async function find<T>(read: () => Promise<T>): Promise<T> {
  try {
    return await read();
  } catch (error) {
    if (error instanceof ServiceError && error.code === "not-found") notFound();
    throw error;
  }
}

function CalibrationNote({
  calibration,
  hasReadings,
}: {
  readonly calibration: Calibration | null;
  readonly hasReadings: boolean;
}) {
  if (!hasReadings) {
    return (
      <p>
        Days that a meter read go into the account as metered; all other days are modelled. The two
        are never in one row.
      </p>
    );
  }
  if (!calibration) {
    return (
      <p>The next account sets these readings beside the model and finds the property’s factor.</p>
    );
  }
  const { factor, band90, periods } = calibration;
  return (
    <p>
      In the latest account the meters read {formatNumber(factor, 3)} times what the model says
      {band90
        ? `, from ${formatNumber(band90[0], 3)} to ${formatNumber(band90[1], 3)} with 90 % confidence`
        : "; one period alone has no band"}
      , over {formatNumber(periods)} {periods === 1 ? "period" : "periods"} (
      {formatShare(Math.abs(factor - 1))} {factor >= 1 ? "more" : "less"}).
    </p>
  );
}

function Readings({ property }: { readonly property: EnergyProperty }) {
  if (property.readings.length === 0) return <p className="soft">None on record.</p>;
  return (
    <LedgerFrame label="Readings">
      <table className="ledger">
        <thead>
          <tr>
            <th scope="col">From</th>
            <th scope="col">To</th>
            <th scope="col">Of what</th>
            <th scope="col">Where</th>
            <th scope="col" className="number">
              As read
            </th>
            <th scope="col" className="number">
              For hot water
            </th>
            <th scope="col">Source</th>
            {property.mayEdit && <th scope="col">Take out</th>}
          </tr>
        </thead>
        <tbody>
          {property.readings.map((reading) => (
            <tr key={reading.id}>
              <th scope="row">{formatDay(reading.from)}</th>
              <td>{formatDay(reading.to)}</td>
              <td>{FUEL_LABELS[reading.fuel]}</td>
              <td>{reading.buildingName ?? "whole property"}</td>
              <td className="number">
                {formatNumber(reading.enteredAmount)} {READING_UNITS[reading.enteredUnit].label}
              </td>
              <td className="number">
                {formatNumber(reading.units - reading.otherUnits)}{" "}
                {reading.fuel === "electricity" ? "kWh" : "therms"}
              </td>
              <td>{reading.source}</td>
              {property.mayEdit && (
                <td>
                  <ActButton act={dropReading.bind(null, reading.id)} label="Take out" />
                </td>
              )}
            </tr>
          ))}
        </tbody>
      </table>
    </LedgerFrame>
  );
}
