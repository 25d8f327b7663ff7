import type { Metadata } from "next";
import Link from "next/link";
import { notFound } from "next/navigation";
import {
  type ElevationChoice,
  ElevationDrawing,
  elevationAddress,
  isChosen,
} from "@/app/_components/elevation";
import {
  ELEVATION_INKS,
  type ElevationInk,
  INK_LABELS,
  inkOf,
} from "@/app/_components/elevation-inks";
import { Figure, Figures } from "@/app/_components/figure";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import { PageHeading } from "@/app/_components/page-heading";
import { TechnologyMark } from "@/app/_components/technology-mark";
import { formatMoney, formatNumber, formatShare } from "@/app/_lib/format";
import { today } from "@/app/_lib/today";
import { requireViewer } from "@/app/_lib/viewer";
import { type BuildingElevation, readElevation } from "@/lib/services/elevation";
import { ServiceError } from "@/lib/services/service-error";

export const metadata: Metadata = { title: "A building" };

type Search = Readonly<Record<string, string | string[] | undefined>>;

export default async function BuildingPage({
  params,
  searchParams,
}: {
  readonly params: Promise<{ readonly id: string }>;
  readonly searchParams: Promise<Search>;
}) {
  const { id } = await params;
  const search = await searchParams;
  const day = today();
  const elevation = await readElevation(await requireViewer(), id, day).catch((error) => {
    if (error instanceof ServiceError && error.code === "not-found") notFound();
    throw error;
  });
  const { building, heaters, drawing } = elevation;
  const ink = ELEVATION_INKS.find((known) => known === search.ink) ?? "chance";
  const choice = readChoice(search);
  const shown = heaters.filter((heater) => isChosen(heater, choice));
  const count = `${formatNumber(heaters.length)} ${heaters.length === 1 ? "heater" : "heaters"}`;
  return (
    <>
      <PageHeading
        title={`${building.propertyName}, ${building.name}`}
        question={
          drawing.kind === "stacks"
            ? `${count} where they stand: floors by risers.`
            : `${count} by home number: floors and risers are not known for most of them.`
        }
      >
        <Link href={`/sites/buildings/${building.id}`}>Survey</Link>
        <Link href={`/heaters?property=${building.propertyId}&building=${building.id}`}>
          In the register
        </Link>
      </PageHeading>
      {heaters.length === 0 ? (
        <div className="empty">
          <p>
            No heater is in service in this building. <Link href="/import">Bring some in</Link> or{" "}
            <Link href="/heaters/new">enter one</Link>.
          </p>
        </div>
      ) : (
        <>
          <ElevationDrawing elevation={elevation} ink={ink} choice={choice} today={day} />
          <Chosen elevation={elevation} ink={ink} choice={choice} shown={shown} />
          <Periods periods={elevation.periods} />
        </>
      )}
    </>
  );
}

function readChoice({ riser, floor }: Search): ElevationChoice | null {
  if (typeof riser === "string" && riser !== "") return { riser, floor: null };
  if (typeof floor === "string" && /^-?\d{1,3}$/.test(floor)) {
    return { riser: null, floor: Number(floor) };
  }
  return null;
}

function Chosen({
  elevation: { building },
  ink,
  choice,
  shown,
}: {
  readonly elevation: BuildingElevation;
  readonly ink: ElevationInk;
  readonly choice: ElevationChoice | null;
  readonly shown: BuildingElevation["heaters"];
}) {
  const day = today();
  const scored = shown.filter(({ failureProbability }) => failureProbability !== null);
  const sum = (of: (heater: (typeof shown)[number]) => number | null) =>
    shown.reduce((total, heater) => total + (of(heater) ?? 0), 0);
  const planned = shown.filter(({ swapPeriod }) => swapPeriod !== null).length;
  const title =
    choice === null
      ? "The whole building"
      : choice.riser === null
        ? `Floor ${choice.floor}`
        : `Riser ${choice.riser}`;
  return (
    <section className="section" aria-labelledby="chosen">
      <h2 id="chosen">{title}</h2>
      {choice !== null && (
        <p>
          <Link href={elevationAddress(building.id, ink, null)} scroll={false}>
            Show the whole building
          </Link>
        </p>
      )}
      <Figures>
        <Figure label="Heaters" value={formatNumber(shown.length)}>
          <p>
            {formatNumber(shown.filter(({ isAgeEstimated }) => isAgeEstimated).length)} of their
            install days are brackets or estimates.
          </p>
        </Figure>
        <Figure
          label="Failures expected in 12 months"
          value={
            scored.length === 0
              ? "–"
              : formatNumber(
                  sum((heater) => heater.failureProbability),
                  1,
                )
          }
        >
          <p>
            The sum of each heater's own chance; {formatNumber(shown.length - scored.length)} not
            yet scored.
          </p>
        </Figure>
        <Figure
          label="Expected loss in 12 months"
          value={scored.length === 0 ? "–" : formatMoney(sum((heater) => heater.expectedLossCents))}
        >
          <p>Chance times consequence, summed over the heaters.</p>
        </Figure>
        <Figure label="Planned swaps" value={formatNumber(planned)}>
          <p>
            {formatMoney(sum((heater) => heater.swapCents))} in the plan in force or, without one,
            the latest, without electrical upgrades.
          </p>
        </Figure>
      </Figures>
      <details open={choice !== null || undefined}>
        <summary>The same in a table</summary>
        <LedgerFrame label={`${title}, heater by heater`}>
          <table className="ledger">
            <thead>
              <tr>
                <th scope="col">Home</th>
                <th scope="col">Floor</th>
                <th scope="col">Riser</th>
                <th scope="col">Heater</th>
                <th scope="col">What stands there</th>
                <th scope="col" className="number">
                  Chance in 12 months
                </th>
                <th scope="col">{ink === "chance" ? INK_LABELS.age : INK_LABELS[ink]}</th>
              </tr>
            </thead>
            <tbody>
              {shown.map((heater) => (
                <tr key={heater.heaterId}>
                  <th scope="row">{heater.label}</th>
                  <td>{heater.floor ?? "–"}</td>
                  <td>{heater.riser ?? "–"}</td>
                  <td>
                    <Link href={`/heaters/${heater.heaterId}`} prefetch={false}>
                      {heater.tag}
                    </Link>
                  </td>
                  <td>
                    <TechnologyMark technology={heater.technology} />
                  </td>
                  <td className="number">
                    {heater.failureProbability === null
                      ? "–"
                      : formatShare(heater.failureProbability)}
                  </td>
                  <td>{inkOf(heater, ink === "chance" ? "age" : ink, day).words}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </LedgerFrame>
      </details>
    </section>
  );
}

function Periods({ periods }: Pick<BuildingElevation, "periods">) {
  return (
    <section className="section" aria-labelledby="periods">
      <h2 id="periods">What is planned here</h2>
      {periods.length === 0 ? (
        <p>
          Nothing yet: no finished plan touches this building.{" "}
          <Link href="/plans">Look at the plans</Link>.
        </p>
      ) : (
        <LedgerFrame label="What is planned here, by period">
          <table className="ledger">
            <thead>
              <tr>
                <th scope="col">Period</th>
                <th scope="col" className="number">
                  Swaps
                </th>
                <th scope="col" className="number">
                  Cost of swaps
                </th>
                <th scope="col" className="number">
                  Electrical upgrade
                </th>
              </tr>
            </thead>
            <tbody>
              {periods.map(({ period, swaps, swapCents, upgradeCents }) => (
                <tr key={period}>
                  <th scope="row">{period}</th>
                  <td className="number">{formatNumber(swaps)}</td>
                  <td className="number">{formatMoney(swapCents)}</td>
                  <td className="number">
                    {upgradeCents === null ? "–" : formatMoney(upgradeCents)}
                  </td>
                </tr>
              ))}
            </tbody>
          </table>
        </LedgerFrame>
      )}
    </section>
  );
}
