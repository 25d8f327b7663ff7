import type { Metadata } from "next";
import { notFound, redirect } from "next/navigation";
import { PageHeading } from "@/app/_components/page-heading";
import { requireViewer } from "@/app/_lib/viewer";
import { readCatalogue } from "@/lib/services/option-catalogue";
import { formOfOption } from "@/lib/services/option-form";
import { OptionForm } from "./option-form";

export const metadata: Metadata = { title: "Edit option" };

export default async function OptionPage({
  params,
}: {
  readonly params: Promise<{ readonly code: string }>;
}) {
  const { code } = await params;
  const { options, mayEdit } = await readCatalogue(await requireViewer());
  const option = options.find((each) => each.code === code);
  if (!option) notFound();
  if (!mayEdit) redirect("/plans/options");
  return (
    <>
      <PageHeading
        title={option.name}
        question="What does it cost and bring, and what does each figure rest on?"
      />
      <OptionForm
        code={code}
        terms={option.terms}
        values={formOfOption(option.name, option.isActive, option.terms)}
      />
    </>
  );
}
