import type { Metadata } from "next";
import { redirect } from "next/navigation";
import { PageHeading } from "@/app/_components/page-heading";
import { today } from "@/app/_lib/today";
import { requireViewer } from "@/app/_lib/viewer";
import { readEmergencyBoard } from "@/lib/services/emergency-card";
import { TermsForm } from "./terms-form";

export const metadata: Metadata = { title: "Approved for failures" };

export default async function TermsPage() {
  const { terms, options, properties, mayEdit } = await readEmergencyBoard(
    await requireViewer(),
    null,
    today(),
  );
  if (!mayEdit) redirect("/sites/cards");
  const { approved: _, ...values } = terms;
  return (
    <>
      <PageHeading
        title="Approved for failures"
        question="What may go in without asking again, and whom do we call?"
      />
      <TermsForm
        values={values}
        options={options.map(({ code, name }) => ({ code, name }))}
        properties={properties.map(({ id, name }) => ({ id, name }))}
      />
    </>
  );
}
