import type { Metadata } from "next";
import Link from "next/link";
import { Caution } from "@/app/_components/caution";
import { Figure, Figures } from "@/app/_components/figure";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import { PageHeading } from "@/app/_components/page-heading";
import { formatMoney, formatNumber } from "@/app/_lib/format";
import { requireViewer } from "@/app/_lib/viewer";
import { SiteFilter } from "@/app/(desk)/sites/_components/site-filter";
import styles from "@/app/(desk)/sites/_components/sites.module.css";
import { one, type Search } from "@/app/(desk)/sites/_lib/search";
import { CAUTIONS } from "@/lib/core/heaters/cautions";
import { ELECTRICIAN_DECIDES } from "@/lib/core/heaters/electrical";
import { HEADROOM_METHOD_LABELS } from "@/lib/core/heaters/electrical-building";
import { type BuildingHeadroom, readHeadrooms } from "@/lib/services/headroom";

export const metadata: Metadata = { title: "Electrical headroom" };

export default async function HeadroomPage({
  searchParams,
}: {
  readonly searchParams: Promise<Search>;
}) {
  const view = await readHeadrooms(await requireViewer(), one(await searchParams, "property"));
  const { buildings } = view;
  const limited = buildings.filter(({ building }) => building.headroomCircuits !== null);
  const short = limited.filter(
    ({ building, burners }) => burners > (building.headroomCircuits ?? 0),
  );
  const open = buildings.filter(({ electrical }) => electrical === null);
  const upgradeCents = short.reduce(
    (sum, { building }) => sum + (building.upgradeCostCents ?? 0),
    0,
  );
  return (
    <>
      <PageHeading
        title="Electrical headroom"
        question="How many heat pumps does each building carry before its service is upgraded?"
      />
      <SiteFilter {...view} />
      <Figures>
        <Figure
          label="Buildings short of circuits"
          value={`${short.length} of ${buildings.length}`}
        >
          <p>
            More heaters burn there than new 240 V circuits fit, by the number that plans use. A
            plug-in heat pump, load sharing or a central plant needs fewer.
          </p>
        </Figure>
        <Figure label="Upgrades of those" value={`$${formatNumber(upgradeCents / 1e8, 2)} M`}>
          <p>
            {formatMoney(upgradeCents)}: sum of the upgrades on record at buildings that are short;{" "}
            {short.filter(({ building }) => building.upgradeCostCents === null).length} of them have
            none on record. Plans choose which are worth it, and when.
          </p>
        </Figure>
        <Figure label="Never worked out here" value={formatNumber(open.length)}>
          <p>
            Their number stands as it was brought in or entered. Open a building to work it out from
            a measured peak, a calculated load or an electrician’s statement.
          </p>
        </Figure>
      </Figures>
      <p className="small soft">{ELECTRICIAN_DECIDES}</p>
      <LedgerFrame label="Headroom by building">
        <table className={`ledger ${styles.wide}`}>
          <thead>
            <tr>
              <th scope="col">Building</th>
              <th scope="col" className="number">
                Service
              </th>
              <th scope="col" className="number">
                Peak, kW
              </th>
              <th scope="col">Worked out by</th>
              <th scope="col" className="number">
                By measured peak
              </th>
              <th scope="col" className="number">
                By calculated load
              </th>
              <th scope="col" className="number">
                In plans
              </th>
              <th scope="col" className="number">
                Gas heaters
              </th>
              <th scope="col" className="number">
                Upgrade
              </th>
              <th scope="col" className="number">
                It adds
              </th>
            </tr>
          </thead>
          <tbody>
            {buildings.map((line) => (
              <HeadroomRow key={line.building.id} line={line} />
            ))}
          </tbody>
        </table>
      </LedgerFrame>
      <Caution>{CAUTIONS.electrical}</Caution>
    </>
  );
}

function HeadroomRow({ line }: { readonly line: BuildingHeadroom }) {
  const { building, electrical, assessment, burners } = line;
  const { headroomCircuits, upgradeCostCents, upgradeAddsCircuits } = building;
  const isShort = headroomCircuits !== null && burners > headroomCircuits;
  return (
    <tr>
      <th scope="row">
        <Link href={`/sites/buildings/${building.id}/headroom`}>
          {building.propertyName}, {building.name}
        </Link>
      </th>
      <td className="number">
        {building.serviceAmps === null
          ? "–"
          : `${formatNumber(building.serviceAmps)} A, ${building.serviceVolts ?? "?"} V`}
      </td>
      <td className="number">
        {building.measuredPeakKw === null ? "–" : formatNumber(building.measuredPeakKw, 1)}
      </td>
      <td>
        {electrical ? HEADROOM_METHOD_LABELS[electrical.method] : <span className="soft">–</span>}
      </td>
      <td className="number">{assessment.measured?.circuits ?? "–"}</td>
      <td className="number">{assessment.calculated?.circuits ?? "–"}</td>
      <td className="number">
        {isShort ? (
          <span className="mark mark--attention">{headroomCircuits}</span>
        ) : (
          (headroomCircuits ?? "no limit known")
        )}
      </td>
      <td className="number">{burners}</td>
      <td className="number">{upgradeCostCents === null ? "–" : formatMoney(upgradeCostCents)}</td>
      <td className="number">{upgradeAddsCircuits ?? "–"}</td>
    </tr>
  );
}
