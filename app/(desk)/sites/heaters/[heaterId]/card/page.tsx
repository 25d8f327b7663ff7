import type { Metadata } from "next";
import Link from "next/link";
import { notFound } from "next/navigation";
import { PageHeading } from "@/app/_components/page-heading";
import { formatDay } from "@/app/_lib/format";
import { today } from "@/app/_lib/today";
import { requireViewer } from "@/app/_lib/viewer";
import {
  Card,
  CardsFoot,
  FirstSteps,
  People,
} from "@/app/(desk)/sites/_components/emergency-cards";
import { PrintButton } from "@/app/(desk)/sites/_components/print-button";
import { cautionsOf, readBuildingCards } from "@/lib/services/emergency-card";
import { readHeaterSite } from "@/lib/services/survey";

export const metadata: Metadata = { title: "Emergency card" };

export default async function HeaterCardPage({
  params,
}: {
  readonly params: Promise<{ readonly heaterId: string }>;
}) {
  const { heaterId } = await params;
  const viewer = await requireViewer();
  const day = today();
  const site = await readHeaterSite(viewer, heaterId, day);
  if (!site) notFound();
  const { building, heater } = site;
  const { cards, contacts, terms } = await readBuildingCards(viewer, building.id, day, heaterId);
  return (
    <>
      <PageHeading
        title={`If it fails: ${heater.home.label ? `home ${heater.home.label}` : heater.tag}`}
        question={`${building.propertyName}, ${building.name} · as of ${formatDay(day)}`}
      >
        <PrintButton />
        <Link href={`/sites/heaters/${heaterId}`}>What can go there</Link>
        <Link href={`/sites/buildings/${building.id}/cards`}>The building’s cards</Link>
      </PageHeading>
      <div className="columns">
        <div>
          {cards.length === 0 ? (
            <p className="notice">This heater is not in service.</p>
          ) : (
            cards.map((card) => <Card key={card.heater.id} card={card} isLinked={false} />)
          )}
        </div>
        <div className="section">
          <FirstSteps />
          <People contacts={contacts} />
        </div>
      </div>
      <CardsFoot terms={terms} cautions={cautionsOf(cards)} />
    </>
  );
}
