import type { Metadata } from "next";
import Link from "next/link";
import { notFound } from "next/navigation";
import { Caution } from "@/app/_components/caution";
import { formatMoney, formatNumber } from "@/app/_lib/format";
import { requireViewer } from "@/app/_lib/viewer";
import { CAUTIONS } from "@/lib/core/heaters/cautions";
import { ServiceError } from "@/lib/services/service-error";
import { type BuildingRow, readBuilding } from "@/lib/services/settings-properties";
import { BuildingForm } from "./building-form";

export const metadata: Metadata = { title: "Building" };

export default async function BuildingPage({
  params,
}: {
  readonly params: Promise<{ readonly buildingId: string }>;
}) {
  const viewer = await requireViewer();
  const { buildingId } = await params;
  const { building, mayEdit } = await readBuilding(viewer, buildingId).catch((error) => {
    if (error instanceof ServiceError && error.code === "not-found") notFound();
    throw error;
  });
  return (
    <section className="section" aria-labelledby="building">
      <p className="small">
        <Link href={`/settings/properties/${building.propertyId}`}>{building.propertyName}</Link>
      </p>
      <h2 id="building">
        {building.propertyName}, {building.name}
      </h2>
      <p>
        {formatNumber(building.heaters)} heaters in service. Plans use the headroom to decide how
        many heat pumps fit before the service is upgraded.
      </p>
      <Caution>{CAUTIONS.electrical}</Caution>
      {mayEdit ? <BuildingForm building={building} /> : <BuildingFacts building={building} />}
    </section>
  );
}

function BuildingFacts({ building }: { readonly building: BuildingRow }) {
  const { upgradeCostCents, upgradeAddsCircuits } = building;
  return (
    <dl className="facts">
      <dt>Year built</dt>
      <dd>{building.builtYear ?? "not known"}</dd>
      <dt>Floors</dt>
      <dd>{building.floors ?? "not known"}</dd>
      <dt>Service</dt>
      <dd>
        {building.serviceAmps === null ? "not known" : `${formatNumber(building.serviceAmps)} A`}
        {building.serviceVolts === null ? "" : `, ${formatNumber(building.serviceVolts)} V`}
      </dd>
      <dt>Measured peak</dt>
      <dd>
        {building.measuredPeakKw === null
          ? "not measured"
          : `${formatNumber(building.measuredPeakKw, 1)} kW`}
      </dd>
      <dt>New circuits</dt>
      <dd>{building.headroomCircuits ?? "no limit on record"}</dd>
      <dt>Upgrade</dt>
      <dd>
        {upgradeCostCents === null || upgradeAddsCircuits === null
          ? "none on record"
          : `${formatMoney(upgradeCostCents)} for ${formatNumber(upgradeAddsCircuits)} circuits`}
      </dd>
    </dl>
  );
}
