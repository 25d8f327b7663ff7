import type { Metadata } from "next";
import Link from "next/link";
import { notFound, redirect } from "next/navigation";
import { PageHeading } from "@/app/_components/page-heading";
import { TechnologyMark } from "@/app/_components/technology-mark";
import { today } from "@/app/_lib/today";
import { requireViewer } from "@/app/_lib/viewer";
import { PLACE_LABELS } from "@/lib/core/heaters/vocabulary";
import { readHeaterSite } from "@/lib/services/survey";
import { SurveyForm } from "./survey-form";

export const metadata: Metadata = { title: "Survey of a place" };

export default async function SurveyPage({
  params,
}: {
  readonly params: Promise<{ readonly heaterId: string }>;
}) {
  const { heaterId } = await params;
  const day = today();
  const site = await readHeaterSite(await requireViewer(), heaterId, day);
  if (!site) notFound();
  if (!site.mayEdit) redirect(`/sites/heaters/${heaterId}`);
  const { heater, building, progress } = site;
  return (
    <>
      <PageHeading
        title={heater.home.label ? `Home ${heater.home.label}` : heater.tag}
        question={
          <>
            {building.propertyName}, {building.name} · {heater.tag} ·{" "}
            {PLACE_LABELS[heater.place].toLowerCase()} · {progress.known} of {progress.asked} known
          </>
        }
      >
        <TechnologyMark technology={heater.technology} />
        <Link href={`/sites/heaters/${heaterId}`}>What can go there</Link>
        <Link href={`/sites/buildings/${building.id}`}>The building</Link>
      </PageHeading>
      <SurveyForm
        key={heaterId}
        heaterId={heaterId}
        items={site.items}
        survey={site.survey}
        inputBtuPerHour={heater.nameplate.inputBtuPerHour}
        today={day}
        next={site.next}
      />
    </>
  );
}
