import type { Metadata } from "next";
import { notFound, redirect } from "next/navigation";
import { PageHeading } from "@/app/_components/page-heading";
import { today } from "@/app/_lib/today";
import { requireViewer } from "@/app/_lib/viewer";
import { RetireForm } from "@/app/(desk)/heaters/_components/retire-form";
import { openHeater } from "@/lib/services/heaters";
import { mayDo } from "@/lib/services/permissions";

export const metadata: Metadata = { title: "Retire a heater" };

export default async function RetireHeaterPage({
  params,
}: {
  readonly params: Promise<{ readonly id: string }>;
}) {
  const viewer = await requireViewer();
  if (!mayDo(viewer.role, "heater.edit")) notFound();
  const day = today();
  const opened = await openHeater(viewer, (await params).id, day);
  if (!opened) notFound();
  if (opened.status === "retired") redirect(`/heaters/${opened.id}`);
  return (
    <>
      <PageHeading title={`Retire ${opened.tag}`} question="How and when did its life end?" />
      <RetireForm
        id={opened.id}
        version={opened.version}
        technology={opened.technology}
        installedFrom={opened.installedFrom}
        successor={opened.successor}
        today={day}
        properties={opened.places.properties}
        propertyId={opened.propertyId}
        buildings={opened.places.buildings}
      />
    </>
  );
}
