import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import { type Finding, isFindingOf } from "@/lib/core/upkeep/findings";
import { type UrgentKind, urgentMattersOf } from "@/lib/core/upkeep/urgent-matters";
import { writeAudit } from "@/lib/data/audit";
import type { TenantClient } from "@/lib/data/tenant";
import { insertUrgentMatter } from "@/lib/data/upkeep-urgent";
import { insertVisit, type NewVisit } from "@/lib/data/upkeep-visits";
import type { Viewer } from "./viewer";

export type KeptVisit = {
  readonly visitId: string;
  readonly isNew: boolean;
  /** What the visit raised, by itself or by the person's word. */
  readonly urgent: readonly UrgentKind[];
};

/**
 * Keeps a visit, and raises what cannot wait: what the person named and what the findings or the
 * measured tap are by themselves. The same visit again changes nothing and raises nothing.
 */
export async function keepVisit(
  client: TenantClient,
  viewer: Viewer,
  visit: NewVisit,
  named: readonly UrgentKind[],
): Promise<KeptVisit> {
  const { visitId, isNew } = await insertVisit(client, viewer.organizationId, visit);
  if (!isNew) return { visitId, isNew, urgent: [] };
  await writeAudit(client, viewer.organizationId, {
    userId: viewer.userId,
    action: "visit.record",
    entity: "ServiceVisit",
    entityId: visitId,
    after: visit,
  });
  const urgent = urgentMattersOf({
    named,
    tapF: visit.tapF,
    tasks: visit.tasks.map(({ task, finding }) => ({
      task,
      finding: finding !== null && isFindingOf(task, finding) ? (finding as Finding) : null,
    })),
  });
  for (const kind of urgent) {
    const id = await insertUrgentMatter(client, viewer.organizationId, {
      heaterId: visit.heaterId,
      kind,
      raisedOn: visit.visitedOn,
      raisedBy: visit.performedBy,
      tapF: kind === "scald" ? visit.tapF : null,
      note: visit.note,
      visitId,
    });
    await writeAudit(client, viewer.organizationId, {
      userId: viewer.userId,
      action: "urgent.raise",
      entity: "UrgentMatter",
      entityId: id,
      after: { heaterId: visit.heaterId, kind, visitId },
    });
  }
  return { visitId, isNew, urgent };
}

/** Why a visit on this day cannot be, or null. */
export function whyNotOnDay(installEarliest: CalendarDay, visitedOn: CalendarDay): string | null {
  return visitedOn < installEarliest
    ? `the heater was installed on ${installEarliest} or later`
    : null;
}
