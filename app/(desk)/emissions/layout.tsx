import type { ReactNode } from "react";
import { PageHeading } from "@/app/_components/page-heading";
import { SectionTabs } from "@/app/_components/section-tabs";

const TABS = [{ href: "/emissions", label: "Account" }] as const;

export default function EmissionsLayout({ children }: { readonly children: ReactNode }) {
  return (
    <>
      <PageHeading title="Emissions" question="How far down, and by which rules?" />
      <SectionTabs label="Emissions" tabs={TABS} />
      {children}
    </>
  );
}
