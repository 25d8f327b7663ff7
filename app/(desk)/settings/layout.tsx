import type { ReactNode } from "react";
import { PageHeading } from "@/app/_components/page-heading";
import { SettingsTabs } from "./_components/settings-tabs";

export default function SettingsLayout({ children }: { readonly children: ReactNode }) {
  return (
    <>
      <PageHeading title="Settings" question="Our own numbers, places and people." />
      <SettingsTabs />
      {children}
    </>
  );
}
