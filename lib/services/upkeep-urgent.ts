import "server-only";
import { z } from "zod";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import { failure, type Outcome, success } from "@/lib/core/shared/outcome";
import { parseWith } from "@/lib/core/shared/validation";
import { writeAudit } from "@/lib/data/audit";
import { withSql } from "@/lib/data/tenant";
import {
  countUrgentMatters,
  listUrgentMatters,
  reopenUrgentMatter,
  settleUrgentMatter,
  type UrgentMatterRow,
} from "@/lib/data/upkeep-urgent";
import { mayDo } from "./permissions";
import { settleFormSchema } from "./upkeep-forms";
import { requireAction, type Viewer } from "./viewer";

export type { UrgentMatterRow } from "@/lib/data/upkeep-urgent";

export type UrgentView = {
  readonly open: readonly UrgentMatterRow[];
  readonly settled: readonly UrgentMatterRow[];
  readonly maySettle: boolean;
};

const SETTLED_SHOWN = 50;

/** What cannot wait, the most pressing first, and what was settled lately. */
export function readUrgentMatters(viewer: Viewer): Promise<UrgentView> {
  requireAction(viewer, "record.read");
  return withSql(viewer, async (client) => ({
    open: await listUrgentMatters(client, "open"),
    settled: await listUrgentMatters(client, "settled", SETTLED_SHOWN),
    maySettle: mayDo(viewer.role, "visit.record"),
  }));
}

export function countOpenUrgentMatters(viewer: Viewer): Promise<number> {
  requireAction(viewer, "record.read");
  return withSql(viewer, (client) => countUrgentMatters(client));
}

/** Settles a matter with what was done about it. */
export async function settleMatter(
  viewer: Viewer,
  input: unknown,
  today: CalendarDay,
): Promise<Outcome<null>> {
  requireAction(viewer, "visit.record");
  const parsed = parseWith(settleFormSchema, input);
  if (!parsed.ok) return parsed;
  const { id, note } = parsed.value;
  return withSql(viewer, async (client) => {
    const by = { settledOn: today, settledBy: viewer.name, note };
    if (!(await settleUrgentMatter(client, id, by))) {
      return failure({ path: "", message: "Somebody else has settled it: load the page again." });
    }
    await writeAudit(client, viewer.organizationId, {
      userId: viewer.userId,
      action: "urgent.settle",
      entity: "UrgentMatter",
      entityId: id,
      after: by,
    });
    return success(null);
  });
}

/** Opens a settled matter again. */
export async function reopenMatter(viewer: Viewer, id: string): Promise<Outcome<null>> {
  requireAction(viewer, "visit.record");
  if (!z.uuid().safeParse(id).success)
    return failure({ path: "", message: "There is no such matter." });
  return withSql(viewer, async (client) => {
    if (!(await reopenUrgentMatter(client, id))) {
      return failure({ path: "", message: "It is open already: load the page again." });
    }
    await writeAudit(client, viewer.organizationId, {
      userId: viewer.userId,
      action: "urgent.reopen",
      entity: "UrgentMatter",
      entityId: id,
    });
    return success(null);
  });
}
