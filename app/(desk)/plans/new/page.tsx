import type { Metadata } from "next";
import { notFound } from "next/navigation";
import { PageHeading } from "@/app/_components/page-heading";
import { today } from "@/app/_lib/today";
import { requireViewer } from "@/app/_lib/viewer";
import { ScenarioForm } from "@/app/(desk)/plans/_components/scenario-form";
import { optionChoices } from "@/app/(desk)/plans/_lib/option-choices";
import { openScenarioForm } from "@/lib/services/scenarios";

export const metadata: Metadata = { title: "New scenario" };

export default async function NewScenarioPage() {
  const form = await openScenarioForm(await requireViewer(), null);
  if (!form) notFound();
  return (
    <>
      <PageHeading
        title="New scenario"
        question="How long, how much money, at which prices, with what? The defaults give a plan at once."
      >
        <button className="button button--primary" type="submit" form="scenario">
          Compute with these defaults
        </button>
      </PageHeading>
      <ScenarioForm
        values={form.values}
        options={optionChoices(form.catalogue)}
        scenario={null}
        today={today()}
      />
    </>
  );
}
