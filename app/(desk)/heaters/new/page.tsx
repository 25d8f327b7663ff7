import type { Metadata } from "next";
import { notFound } from "next/navigation";
import { PageHeading } from "@/app/_components/page-heading";
import { today } from "@/app/_lib/today";
import { requireViewer } from "@/app/_lib/viewer";
import { HeaterForm } from "@/app/(desk)/heaters/_components/heater-form";
import { EMPTY_HEATER_FORM } from "@/lib/core/heaters/heater-form";
import { listPlaces } from "@/lib/services/heaters";
import { mayDo } from "@/lib/services/permissions";

export const metadata: Metadata = { title: "New heater" };

export default async function NewHeaterPage({
  searchParams,
}: {
  readonly searchParams: Promise<{ readonly property?: string; readonly building?: string }>;
}) {
  const viewer = await requireViewer();
  if (!mayDo(viewer.role, "heater.edit")) notFound();
  const { property = null, building = "" } = await searchParams;
  const places = await listPlaces(viewer, property);
  const isKnown = places.buildings.some(({ id }) => id === building);
  return (
    <>
      <PageHeading
        title="New heater"
        question="What is left empty counts as not known; it can be filled in later."
      />
      {places.properties.length === 0 ? (
        <div className="empty">
          <p>
            There is no property to put it in yet. Properties and buildings come on record with the
            first list that is brought in.
          </p>
        </div>
      ) : (
        <HeaterForm
          id={null}
          version={0}
          initial={{ ...EMPTY_HEATER_FORM, buildingId: isKnown ? building : "" }}
          today={today()}
          properties={places.properties}
          propertyId={property}
          buildings={places.buildings}
        />
      )}
    </>
  );
}
