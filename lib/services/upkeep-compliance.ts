import "server-only";
import { TASK_KINDS, type TaskKind } from "@/lib/core/heaters/vocabulary";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import { complianceOn, type HeaterRecord, monthEnds } from "@/lib/core/upkeep/compliance";
import { loadFleet } from "@/lib/data/fleet";
import { withSql } from "@/lib/data/tenant";
import {
  type BuildingPlace,
  listPropertyChoices,
  loadBuildingPlaces,
  type PropertyChoice,
} from "@/lib/data/upkeep";
import { loadCareRecords } from "@/lib/data/upkeep-visits";
import { choosePropertyId } from "./upkeep";
import { loadUpkeepRules } from "./upkeep-rules";
import { requireAction, type Viewer } from "./viewer";

/** Above this the months are shown for one property at a time: every past month is worked out anew. */
const WHOLE_PORTFOLIO_HEATERS = 2_000;
const MONTHS = 12;

export type InDate = { readonly tasks: number; readonly inDate: number };

export type ComplianceView = {
  readonly properties: readonly PropertyChoice[];
  readonly propertyId: string | null;
  readonly needsProperty: boolean;
  /** At the end of each month, and today last. */
  readonly months: readonly (InDate & { readonly day: CalendarDay })[];
  readonly byTask: readonly (InDate & { readonly task: TaskKind })[];
  readonly byBuilding: readonly (InDate & { readonly building: BuildingPlace })[];
};

/** How much of the care is in date: by month, by task and by building. */
export function readCompliance(
  viewer: Viewer,
  askedProperty: string | null,
  today: CalendarDay,
): Promise<ComplianceView> {
  requireAction(viewer, "record.read");
  return withSql(viewer, async (client) => {
    const properties = await listPropertyChoices(client);
    const { propertyId, needsProperty } = choosePropertyId(
      properties,
      askedProperty,
      WHOLE_PORTFOLIO_HEATERS,
    );
    const buildings = await loadBuildingPlaces(client, propertyId);
    const rulesOf = await loadUpkeepRules(client, propertyId);
    const frames = await loadCareRecords(client, propertyId);
    const { heaters } = await loadFleet(client, {
      heaterIds: frames.map(({ heaterId }) => heaterId),
    });
    const heaterOf = new Map(heaters.map((heater) => [heater.id, heater]));
    const byBuilding = new Map<string, HeaterRecord[]>();
    const propertyOf = new Map<HeaterRecord, string>();
    for (const { heaterId, ...frame } of frames) {
      const heater = heaterOf.get(heaterId);
      if (!heater) continue;
      const record = { ...frame, heater };
      propertyOf.set(record, heater.propertyId);
      const same = byBuilding.get(heater.buildingId);
      if (same) same.push(record);
      else byBuilding.set(heater.buildingId, [record]);
    }
    const rules = (record: HeaterRecord) => rulesOf(propertyOf.get(record) ?? "");
    const ends = monthEnds(today, MONTHS);
    const months = ends.map((day) => ({ day, tasks: 0, inDate: 0 }));
    const byTask = new Map<TaskKind, { tasks: number; inDate: number }>();
    const perBuilding: (InDate & { readonly building: BuildingPlace })[] = [];
    for (const building of buildings.values()) {
      const counts = complianceOn(byBuilding.get(building.id) ?? [], ends, rules);
      counts.forEach(({ tasks, inDate }, index) => {
        months[index].tasks += tasks;
        months[index].inDate += inDate;
      });
      const now = counts[counts.length - 1];
      if (now.tasks === 0) continue;
      perBuilding.push({ building, tasks: now.tasks, inDate: now.inDate });
      for (const [task, count] of Object.entries(now.byTask) as [TaskKind, InDate][]) {
        const sum = byTask.get(task) ?? { tasks: 0, inDate: 0 };
        byTask.set(task, { tasks: sum.tasks + count.tasks, inDate: sum.inDate + count.inDate });
      }
    }
    return {
      properties,
      propertyId,
      needsProperty,
      months,
      byTask: TASK_KINDS.flatMap((task) => {
        const count = byTask.get(task);
        return count ? [{ task, ...count }] : [];
      }),
      byBuilding: perBuilding,
    };
  });
}
