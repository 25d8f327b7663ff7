import type { ReactNode } from "react";
import { PageHeading } from "@/app/_components/page-heading";
import { SectionTabs } from "@/app/_components/section-tabs";

const TABS = [
  { href: "/emissions", label: "Account" },
  { href: "/emissions/statement", label: "Statement" },
  { href: "/emissions/target", label: "Base year and target" },
  { href: "/emissions/properties", label: "Meters and readings" },
  { href: "/emissions/factors", label: "Factors" },
  { href: "/emissions/contracts", label: "Contracts" },
  { href: "/emissions/rules", label: "Rules" },
  { href: "/emissions/homes", label: "Homes" },
  { href: "/emissions/retirements", label: "Retirements" },
] as const;

export default function EmissionsLayout({ children }: { readonly children: ReactNode }) {
  return (
    <>
      <PageHeading title="Emissions" question="How far down, and by which rules?" />
      <SectionTabs label="Emissions" tabs={TABS} />
      {children}
    </>
  );
}
