import type { ReactNode } from "react";
import { SectionTabs } from "@/app/_components/section-tabs";
import { requireViewer } from "@/app/_lib/viewer";
import { countOpenUrgentMatters } from "@/lib/services/upkeep-urgent";

export default async function UpkeepLayout({ children }: { readonly children: ReactNode }) {
  const open = await countOpenUrgentMatters(await requireViewer());
  return (
    <>
      <SectionTabs
        label="Upkeep"
        tabs={[
          { href: "/upkeep", label: "Due" },
          { href: "/upkeep/rounds", label: "Rounds" },
          { href: "/upkeep/urgent", label: "Urgent", note: open > 0 ? `${open} open` : undefined },
          { href: "/upkeep/compliance", label: "In date" },
          { href: "/upkeep/water", label: "Water" },
          { href: "/upkeep/log", label: "Work log" },
          { href: "/upkeep/calendar", label: "Calendar" },
          { href: "/upkeep/rules", label: "Rules" },
        ]}
      />
      {children}
    </>
  );
}
