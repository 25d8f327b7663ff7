import type { Metadata } from "next";
import Link from "next/link";
import { notFound } from "next/navigation";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import { formatDay, formatMoney, formatNumber } from "@/app/_lib/format";
import { today } from "@/app/_lib/today";
import { requireViewer } from "@/app/_lib/viewer";
import { ActButton } from "@/app/(desk)/settings/_components/act-button";
import styles from "@/app/(desk)/settings/_components/settings.module.css";
import { formatHardness, formatTemperature } from "@/app/(desk)/settings/_lib/quantities";
import { dropWaterTest } from "@/app/(desk)/settings/properties/actions";
import { ANSWER_LABELS } from "@/lib/core/heaters/vocabulary";
import { formatCents } from "@/lib/core/shared/money";
import { ServiceError } from "@/lib/services/service-error";
import {
  type BuildingRow,
  type PropertyRow,
  type PropertyView,
  readProperty,
  type WaterTestRow,
} from "@/lib/services/settings-properties";
import { PropertyForm } from "./property-form";
import { WaterTestForm } from "./water-test-form";

export const metadata: Metadata = { title: "Property" };

type Units = "us" | "si";

export default async function PropertyPage({
  params,
}: {
  readonly params: Promise<{ readonly propertyId: string }>;
}) {
  const viewer = await requireViewer();
  const view = await find(() => params.then(({ propertyId }) => readProperty(viewer, propertyId)));
  const { property, mayEdit, buildings, waterTests } = view;
  return (
    <>
      <section className="section" aria-labelledby="property">
        <p className="small">
          <Link href="/settings/properties">All properties</Link>
        </p>
        <h2 id="property">{property.name}</h2>
        {mayEdit ? (
          <PropertyForm property={property} />
        ) : (
          <PropertyFacts property={property} units={viewer.unitSystem} />
        )}
      </section>
      <section className="section" aria-labelledby="buildings">
        <h2 id="buildings">Buildings and their electrical service</h2>
        <BuildingTable buildings={buildings} />
      </section>
      <section className="section" aria-labelledby="water">
        <h2 id="water">Water tests</h2>
        <WaterTests
          tests={waterTests}
          units={viewer.unitSystem}
          propertyId={property.id}
          mayEdit={mayEdit}
        />
        {mayEdit && (
          <>
            <h3>Add a test</h3>
            <WaterTestForm
              propertyId={property.id}
              today={today()}
              unitSystem={viewer.unitSystem}
            />
          </>
        )}
      </section>
    </>
  );
}

async function find(read: () => Promise<PropertyView>): Promise<PropertyView> {
  try {
    return await read();
  } catch (error) {
    if (error instanceof ServiceError && error.code === "not-found") notFound();
    throw error;
  }
}

function PropertyFacts({
  property,
  units,
}: {
  readonly property: PropertyRow;
  readonly units: Units;
}) {
  const place = [property.street, property.city, property.region, property.postalCode];
  return (
    <dl className="facts">
      <dt>Place</dt>
      <dd>{place.filter(Boolean).join(", ") || "not known"}</dd>
      <dt>Mean outdoor air</dt>
      <dd>{formatTemperature(property.annualMeanAirF, units)}</dd>
      <dt>Water source</dt>
      <dd>{property.waterSource ?? "not known"}</dd>
      <dt>Hot-water use</dt>
      <dd>{property.demandLevel}</dd>
      <dt>Gas</dt>
      <dd>
        {formatCents(Math.round(property.gasCentsPerTherm))} a therm,{" "}
        {formatCents(Math.round(property.gasStandingCentsPerMonth))} a month standing
      </dd>
      <dt>Electricity</dt>
      <dd>{formatNumber(property.electricityCentsPerKwh, 1)} ¢ a kWh</dd>
      <dt>Grid region</dt>
      <dd>{property.gridRegion}</dd>
    </dl>
  );
}

function BuildingTable({ buildings }: { readonly buildings: readonly BuildingRow[] }) {
  if (buildings.length === 0) return <p className="soft">No building yet.</p>;
  return (
    <LedgerFrame label="Table of buildings">
      <table className="ledger">
        <thead>
          <tr>
            <th scope="col">Building</th>
            <th scope="col" className="number">
              Built
            </th>
            <th scope="col" className="number">
              Floors
            </th>
            <th scope="col" className="number">
              Heaters
            </th>
            <th scope="col">Service</th>
            <th scope="col" className="number">
              Measured peak
            </th>
            <th scope="col" className="number">
              New 240 V circuits it can carry
            </th>
            <th scope="col">Upgrade</th>
          </tr>
        </thead>
        <tbody>
          {buildings.map((building) => (
            <tr key={building.id}>
              <th scope="row">
                <Link href={`/settings/buildings/${building.id}`}>{building.name}</Link>
              </th>
              <td className="number">{building.builtYear ?? "–"}</td>
              <td className="number">{building.floors ?? "–"}</td>
              <td className="number">{formatNumber(building.heaters)}</td>
              <td>
                {building.serviceAmps === null
                  ? "not known"
                  : `${formatNumber(building.serviceAmps)} A, ${building.serviceVolts === null ? "voltage not known" : `${formatNumber(building.serviceVolts)} V`}`}
              </td>
              <td className="number">
                {building.measuredPeakKw === null
                  ? "not measured"
                  : `${formatNumber(building.measuredPeakKw, 1)} kW`}
              </td>
              <td className="number">{building.headroomCircuits ?? "no limit on record"}</td>
              <td>
                {building.upgradeCostCents === null || building.upgradeAddsCircuits === null
                  ? "none on record"
                  : `${formatMoney(building.upgradeCostCents)} for ${formatNumber(building.upgradeAddsCircuits)} circuits`}
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </LedgerFrame>
  );
}

function WaterTests({
  tests,
  units,
  propertyId,
  mayEdit,
}: {
  readonly tests: readonly WaterTestRow[];
  readonly units: Units;
  readonly propertyId: string;
  readonly mayEdit: boolean;
}) {
  if (tests.length === 0) {
    return (
      <p className="soft">
        No test on record: ordinary water is assumed. A strip or the utility’s yearly report is a
        start.
      </p>
    );
  }
  const number = (value: number | null, decimals = 0) =>
    value === null ? "–" : formatNumber(value, decimals);
  return (
    <>
      <p>The latest test holds. Hardness is that of the water as delivered.</p>
      <LedgerFrame label="Table of water tests">
        <table className="ledger">
          <thead>
            <tr>
              <th scope="col">Sampled</th>
              <th scope="col">Hardness</th>
              <th scope="col">Softened</th>
              <th scope="col" className="number">
                pH
              </th>
              <th scope="col" className="number">
                Alkalinity, mg/L
              </th>
              <th scope="col" className="number">
                Dissolved solids, mg/L
              </th>
              <th scope="col">Temperature</th>
              <th scope="col">Disinfectant</th>
              {mayEdit && <th scope="col">Change</th>}
            </tr>
          </thead>
          <tbody>
            {tests.map((test, index) => (
              <tr key={test.id}>
                <th scope="row">
                  {formatDay(test.sampledOn)}
                  {index === 0 ? " (holds)" : ""}
                </th>
                <td>
                  {test.hardnessMgPerLitre === null
                    ? "–"
                    : formatHardness(test.hardnessMgPerLitre, units)}
                </td>
                <td>{ANSWER_LABELS[test.softened]}</td>
                <td className="number">{number(test.ph, 1)}</td>
                <td className="number">{number(test.alkalinityMgPerLitre)}</td>
                <td className="number">{number(test.dissolvedSolidsMgPerLitre)}</td>
                <td>
                  {test.temperatureF === null ? "–" : formatTemperature(test.temperatureF, units)}
                </td>
                <td>{test.disinfectant ?? "–"}</td>
                {mayEdit && (
                  <td>
                    <div className={styles.rowActions}>
                      <ActButton
                        act={dropWaterTest.bind(null, propertyId, test.id)}
                        label="Remove"
                      />
                    </div>
                  </td>
                )}
              </tr>
            ))}
          </tbody>
        </table>
      </LedgerFrame>
    </>
  );
}
