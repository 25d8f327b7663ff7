import type { Metadata } from "next";
import Link from "next/link";
import { notFound } from "next/navigation";
import { cache } from "react";
import { z } from "zod";
import { PageHeading } from "@/app/_components/page-heading";
import { TechnologyMark } from "@/app/_components/technology-mark";
import { formatDay } from "@/app/_lib/format";
import { today } from "@/app/_lib/today";
import { requireViewer } from "@/app/_lib/viewer";
import { formatBracket } from "@/app/(desk)/heaters/_lib/install-text";
import { RETIREMENT_CAUSE_LABELS } from "@/lib/core/heaters/vocabulary";
import { formatCents } from "@/lib/core/shared/money";
import { type HeaterPage, readHeaterPage } from "@/lib/services/heater-page";
import { CarePart } from "./_components/care-part";
import { ChangesPart } from "./_components/changes-part";
import { EnergyPart } from "./_components/energy-part";
import { HeaterFigures } from "./_components/heater-figures";
import { PlacePart } from "./_components/place-part";
import { PlanPart } from "./_components/plan-part";
import { PlatePart } from "./_components/plate-part";
import { ReadinessPart } from "./_components/readiness-part";
import { ReinstateButton } from "./_components/reinstate-button";
import { RiskPart } from "./_components/risk-part";

type Params = { readonly params: Promise<{ readonly id: string }> };

const readPage = cache(async (id: string): Promise<HeaterPage | null> => {
  if (!z.guid().safeParse(id).success) return null;
  return readHeaterPage(await requireViewer(), id, today());
});

export async function generateMetadata({ params }: Params): Promise<Metadata> {
  const page = await readPage((await params).id);
  return { title: page ? page.entry.tag : "No such heater" };
}

export default async function HeaterPageView({ params }: Params) {
  const page = await readPage((await params).id);
  if (!page) notFound();
  const { entry, place } = page;
  return (
    <>
      <PageHeading
        title={entry.tag}
        question={
          <>
            <TechnologyMark technology={entry.technology} />, {whereabouts(page)}
          </>
        }
      >
        {page.mayEdit && (
          <Link className="button" href={`/heaters/${page.id}/edit`}>
            Edit
          </Link>
        )}
        {page.mayEdit && page.status === "in-service" && (
          <Link className="button" href={`/heaters/${page.id}/retire`}>
            Retire
          </Link>
        )}
        <Link className="button button--quiet" href={`/buildings/${entry.buildingId}`}>
          The building as it stands
        </Link>
        <Link
          className="button button--quiet"
          href={`/heaters?property=${place.propertyId}&building=${entry.buildingId}`}
        >
          All of this building
        </Link>
      </PageHeading>
      {page.retirement && <Retired page={page} />}
      <HeaterFigures page={page} />
      {page.risk && <RiskPart page={page} risk={page.risk} />}
      <PlanPart page={page} />
      <div className="columns">
        <PlatePart page={page} />
        <PlacePart page={page} />
      </div>
      <CarePart page={page} />
      <ReadinessPart page={page} />
      {page.year && <EnergyPart year={page.year} />}
      <ChangesPart page={page} />
    </>
  );
}

function whereabouts({ entry, place }: HeaterPage): string {
  const home = entry.home
    ? `home ${entry.home.label}`
    : `for ${entry.homesServed} ${entry.homesServed === 1 ? "home" : "homes"}`;
  return `${home}, ${place.buildingName}, ${place.propertyName}`;
}

function Retired({ page }: { readonly page: HeaterPage }) {
  const { retirement } = page;
  if (!retirement) return null;
  const successor = page.chain[page.chain.findIndex(({ id }) => id === page.id) + 1];
  return (
    <div className="notice">
      <p>
        <strong>Retired {formatBracket(retirement.earliest, retirement.latest)}</strong>:{" "}
        {RETIREMENT_CAUSE_LABELS[retirement.cause].toLowerCase()}
        {retirement.emergency ? ", hot water was lost before the swap" : ""}
        {retirement.costCents === null
          ? ""
          : `; its replacement cost ${formatCents(retirement.costCents, { whole: true })}`}
        . {retirement.note}
      </p>
      {successor ? (
        <p>
          In its place stands <Link href={`/heaters/${successor.id}`}>{successor.tag}</Link> since{" "}
          {formatDay(successor.installEarliest)}.
        </p>
      ) : (
        page.mayEdit && <ReinstateButton id={page.id} />
      )}
    </div>
  );
}
