import type { Metadata } from "next";
import Link from "next/link";
import { notFound } from "next/navigation";
import { PageHeading } from "@/app/_components/page-heading";
import { formatDay } from "@/app/_lib/format";
import { today } from "@/app/_lib/today";
import { requireViewer } from "@/app/_lib/viewer";
import styles from "@/app/(desk)/sites/_components/cards.module.css";
import {
  Card,
  CardsFoot,
  FirstSteps,
  People,
} from "@/app/(desk)/sites/_components/emergency-cards";
import { PrintButton } from "@/app/(desk)/sites/_components/print-button";
import { cautionsOf, readBuildingCards } from "@/lib/services/emergency-card";
import { ServiceError } from "@/lib/services/service-error";

export const metadata: Metadata = { title: "Emergency cards" };

export default async function BuildingCardsPage({
  params,
}: {
  readonly params: Promise<{ readonly buildingId: string }>;
}) {
  const { buildingId } = await params;
  const day = today();
  const sheet = await readBuildingCards(await requireViewer(), buildingId, day).catch((error) => {
    if (error instanceof ServiceError && error.code === "not-found") notFound();
    throw error;
  });
  const { building, cards, contacts, terms } = sheet;
  return (
    <>
      <PageHeading
        title={`If a heater fails: ${building.propertyName}, ${building.name}`}
        question={`${[building.street, building.city].filter(Boolean).join(", ")} · as of ${formatDay(day)}`}
      >
        <PrintButton />
        <Link href={`/sites/cards?property=${building.propertyId}`}>The property</Link>
      </PageHeading>
      <div className="columns">
        <FirstSteps />
        <People contacts={contacts} />
      </div>
      {cards.length === 0 ? (
        <div className="empty">
          <p>No heater is in service in this building.</p>
        </div>
      ) : (
        <div className={styles.cards}>
          {cards.map((card) => (
            <Card key={card.heater.id} card={card} />
          ))}
        </div>
      )}
      <CardsFoot terms={terms} cautions={cautionsOf(cards)} />
    </>
  );
}
