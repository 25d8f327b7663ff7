import type { Metadata } from "next";
import { notFound } from "next/navigation";
import { PageHeading } from "@/app/_components/page-heading";
import { today } from "@/app/_lib/today";
import { requireViewer } from "@/app/_lib/viewer";
import { HeaterForm } from "@/app/(desk)/heaters/_components/heater-form";
import { openHeater } from "@/lib/services/heaters";
import { mayDo } from "@/lib/services/permissions";

export const metadata: Metadata = { title: "Edit a heater" };

export default async function EditHeaterPage({
  params,
}: {
  readonly params: Promise<{ readonly id: string }>;
}) {
  const viewer = await requireViewer();
  if (!mayDo(viewer.role, "heater.edit")) notFound();
  const day = today();
  const opened = await openHeater(viewer, (await params).id, day);
  if (!opened) notFound();
  return (
    <>
      <PageHeading
        title={`Edit ${opened.tag}`}
        question="What is left empty counts as not known."
      />
      <HeaterForm
        id={opened.id}
        version={opened.version}
        initial={opened.text}
        today={day}
        properties={opened.places.properties}
        propertyId={opened.propertyId}
        buildings={opened.places.buildings}
      />
    </>
  );
}
