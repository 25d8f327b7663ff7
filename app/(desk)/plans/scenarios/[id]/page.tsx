import type { Metadata } from "next";
import { notFound } from "next/navigation";
import { PageHeading } from "@/app/_components/page-heading";
import { today } from "@/app/_lib/today";
import { requireViewer } from "@/app/_lib/viewer";
import { ScenarioForm } from "@/app/(desk)/plans/_components/scenario-form";
import { optionChoices } from "@/app/(desk)/plans/_lib/option-choices";
import { openScenarioForm } from "@/lib/services/scenarios";

export const metadata: Metadata = { title: "Edit scenario" };

export default async function EditScenarioPage({
  params,
}: {
  readonly params: Promise<{ readonly id: string }>;
}) {
  const form = await openScenarioForm(await requireViewer(), (await params).id);
  if (!form) notFound();
  return (
    <>
      <PageHeading
        title={form.values.name}
        question="An edited scenario begins with the quarter after today."
      />
      <ScenarioForm
        values={form.values}
        options={optionChoices(form.catalogue)}
        scenario={form.scenario}
        today={today()}
      />
    </>
  );
}
