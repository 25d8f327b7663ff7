import type { ReactNode } from "react";
import { OutboxWatch } from "@/app/_components/outbox-watch";
import { SectionTabs } from "@/app/_components/section-tabs";
import { requireViewer } from "@/app/_lib/viewer";
import { countOpenUrgentMatters } from "@/lib/services/upkeep-urgent";

export default async function UpkeepLayout({ children }: { readonly children: ReactNode }) {
  const viewer = await requireViewer();
  const open = await countOpenUrgentMatters(viewer);
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
      <OutboxWatch owner={`${viewer.organizationId} ${viewer.userId}`} />
      {children}
    </>
  );
}
