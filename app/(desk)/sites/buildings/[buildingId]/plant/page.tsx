import type { Metadata } from "next";
import Link from "next/link";
import { notFound } from "next/navigation";
import { Caution } from "@/app/_components/caution";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import { PageHeading } from "@/app/_components/page-heading";
import { formatMoney, formatNumber } from "@/app/_lib/format";
import { requireViewer } from "@/app/_lib/viewer";
import styles from "@/app/(desk)/sites/_components/sites.module.css";
import { CAUTIONS } from "@/lib/core/heaters/cautions";
import { ServiceError } from "@/lib/services/service-error";
import { type PlantView, readPlant } from "@/lib/services/sites-plant";
import { formOfPlant } from "@/lib/services/sites-plant-form";
import { PlantForm } from "./plant-form";

export const metadata: Metadata = { title: "Central plant of a building" };

export default async function BuildingPlantPage({
  params,
}: {
  readonly params: Promise<{ readonly buildingId: string }>;
}) {
  const { buildingId } = await params;
  const view = await readPlant(await requireViewer(), buildingId).catch((error) => {
    if (error instanceof ServiceError && error.code === "not-found") notFound();
    throw error;
  });
  const { building } = view;
  return (
    <>
      <PageHeading
        title={`Central plant: ${building.propertyName}, ${building.name}`}
        question="How large must one heat pump plant be for these homes, and can the building carry it?"
      >
        <Link href={`/sites/buildings/${building.id}`}>The survey</Link>
        <Link href={`/sites/buildings/${building.id}/headroom`}>Electrical headroom</Link>
      </PageHeading>
      {view.assumed.length > 0 && (
        <p className="notice">
          <strong>Assumed until you keep your own numbers.</strong> {view.assumed.join(" ")}
        </p>
      )}
      <PlantForm
        buildingId={building.id}
        values={formOfPlant(view.plant)}
        service={view.service}
        spareVoltAmperes={view.spareVoltAmperes}
        spareFrom={view.spareFrom}
        mayEdit={view.mayEdit}
      />
      <Conversion view={view} />
      <Caution>{CAUTIONS.legionella}</Caution>
      <Caution>{CAUTIONS.setpoint}</Caution>
      <Caution>{CAUTIONS.electrical}</Caution>
      <Caution>{CAUTIONS.refrigerant}</Caution>
      <Caution>{CAUTIONS["gas-capoff"]}</Caution>
    </>
  );
}

function Conversion({ view: { building, risers, prices } }: { readonly view: PlantView }) {
  return (
    <section className="section" aria-labelledby="conversion">
      <h2 id="conversion">What would go for it</h2>
      {prices.length === 0 ? (
        <p className="soft">
          {building.heaters < 2
            ? "Fewer than two single heaters are in service here."
            : "The catalogue has no option for a plant of several homes."}{" "}
          <Link href="/plans/options">Options catalogue</Link>
        </p>
      ) : (
        prices.map((price) => (
          <p key={price.code}>
            <Link href={`/plans/options/${price.code}`}>{price.name}</Link>:{" "}
            {formatMoney(price.lowCents)} to {formatMoney(price.highCents)}, likely{" "}
            <strong>{formatMoney(price.likelyCents)}</strong> for {formatNumber(price.homes)} homes
            ({formatMoney(Math.round(price.likelyCents / price.homes))} a home), with{" "}
            {formatNumber(price.heaters)} heaters taken out. By the catalogue, from the number of
            homes; it does not follow the size worked out above. No incentive taken off.
          </p>
        ))
      )}
      {risers.length > 0 && (
        <LedgerFrame label="Heaters by riser">
          <table className={`ledger ${styles.narrow}`}>
            <thead>
              <tr>
                <th scope="col">Riser</th>
                <th scope="col" className="number">
                  Heaters
                </th>
                <th scope="col" className="number">
                  Homes
                </th>
              </tr>
            </thead>
            <tbody>
              {risers.map(({ riser, heaters, homes }) => (
                <tr key={riser ?? ""}>
                  <th scope="row">
                    {riser ?? <span className="mark mark--attention">Not on record</span>}
                  </th>
                  <td className="number">{heaters}</td>
                  <td className="number">{homes}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </LedgerFrame>
      )}
      <p className="small soft">
        A conversion by riser leaves out heaters whose riser is not on record, and risers of one
        heater.
      </p>
    </section>
  );
}
