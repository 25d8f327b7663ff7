import type { ReactNode } from "react";
import { SectionTabs } from "@/app/_components/section-tabs";

export default function SitesLayout({ children }: { readonly children: ReactNode }) {
  return (
    <>
      <SectionTabs
        label="Sites"
        tabs={[
          { href: "/sites", label: "Survey" },
          { href: "/sites/headroom", label: "Headroom" },
          { href: "/sites/cards", label: "Emergency cards" },
          { href: "/sites/spares", label: "Spares" },
        ]}
      />
      {children}
    </>
  );
}
