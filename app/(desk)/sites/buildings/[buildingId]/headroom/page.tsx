import type { Metadata } from "next";
import Link from "next/link";
import { notFound } from "next/navigation";
import { Caution } from "@/app/_components/caution";
import { PageHeading } from "@/app/_components/page-heading";
import { requireViewer } from "@/app/_lib/viewer";
import { CAUTIONS } from "@/lib/core/heaters/cautions";
import { readBuildingHeadroom } from "@/lib/services/headroom";
import { formOfBuilding } from "@/lib/services/headroom-form";
import { ServiceError } from "@/lib/services/service-error";
import { HeadroomAnswer } from "./headroom-answer";
import { HeadroomForm } from "./headroom-form";

export const metadata: Metadata = { title: "Headroom of a building" };

export default async function BuildingHeadroomPage({
  params,
}: {
  readonly params: Promise<{ readonly buildingId: string }>;
}) {
  const { buildingId } = await params;
  const headroom = await readBuildingHeadroom(await requireViewer(), buildingId).catch((error) => {
    if (error instanceof ServiceError && error.code === "not-found") notFound();
    throw error;
  });
  const { building, electrical, assessment, burners, mayEdit } = headroom;
  return (
    <>
      <PageHeading
        title={`Headroom: ${building.propertyName}, ${building.name}`}
        question={`${burners} of ${building.heaters} heaters burn gas. Plans count on ${
          building.headroomCircuits === null
            ? "no limit"
            : `${building.headroomCircuits} new circuits`
        }${electrical === null ? ", as it was brought in or entered" : ""}.`}
      >
        <Link href={`/sites/headroom?property=${building.propertyId}`}>The property</Link>
        <Link href={`/sites/buildings/${building.id}/plant`}>Central plant</Link>
        <Link href={`/sites/buildings/${building.id}`}>The survey</Link>
      </PageHeading>
      <Caution>{CAUTIONS.electrical}</Caution>
      {mayEdit ? (
        <HeadroomForm
          buildingId={building.id}
          values={formOfBuilding(building, electrical)}
          burners={burners}
        />
      ) : (
        <HeadroomAnswer assessment={assessment} burners={burners} />
      )}
    </>
  );
}
