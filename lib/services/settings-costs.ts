import "server-only";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import { failure, type Outcome, success } from "@/lib/core/shared/outcome";
import type { SourcedValue } from "@/lib/core/shared/sourced";
import { parseWith } from "@/lib/core/shared/validation";
import { DEFAULT_CONSEQUENCES } from "@/lib/core/survival/consequence";
import { writeAudit } from "@/lib/data/audit";
import { readOrganization, updateSettingsSection } from "@/lib/data/settings";
import { withSql } from "@/lib/data/tenant";
import { mayDo } from "./permissions";
import { requestRiskPass } from "./risk-scoring";
import {
  CONSEQUENCE_FIELDS,
  type ConsequenceField,
  type ConsequenceKey,
  checkConsequences,
  consequenceEntrySchema,
  type OwnConsequences,
  readOwnConsequences,
  resolveConsequences,
} from "./settings-consequences";
import { requireAction, type Viewer } from "./viewer";

export type CostLine = ConsequenceField & {
  readonly inForce: SourcedValue;
  readonly standard: SourcedValue;
};

export type Costs = { readonly mayEdit: boolean; readonly lines: readonly CostLine[] };

/** What a failure costs: each assumption as it stands and as it would be without an entry. */
export function readCosts(viewer: Viewer): Promise<Costs> {
  requireAction(viewer, "record.read");
  return withSql(viewer, async (client) => {
    const { settings } = await readOrganization(client);
    const inForce = resolveConsequences(readOwnConsequences(settings.consequences));
    return {
      mayEdit: mayDo(viewer.role, "settings.edit"),
      lines: CONSEQUENCE_FIELDS.map((field) => ({
        ...field,
        inForce: inForce[field.key],
        standard: DEFAULT_CONSEQUENCES[field.key],
      })),
    };
  });
}

/** Enters the organisation's own value; every expected loss is computed anew. */
export async function saveCost(
  viewer: Viewer,
  input: unknown,
  today: CalendarDay,
): Promise<Outcome<null>> {
  requireAction(viewer, "settings.edit");
  const parsed = parseWith(consequenceEntrySchema, input);
  if (!parsed.ok) return parsed;
  const { key, value, source } = parsed.value;
  return change(viewer, today, key, (own) => ({ ...own, [key]: { value, source } }));
}

/** Goes back to the value that ships with the program. */
export function resetCost(
  viewer: Viewer,
  key: ConsequenceKey,
  today: CalendarDay,
): Promise<Outcome<null>> {
  requireAction(viewer, "settings.edit");
  return change(viewer, today, key, ({ [key]: _, ...rest }) => rest);
}

function change(
  viewer: Viewer,
  today: CalendarDay,
  key: ConsequenceKey,
  edit: (own: OwnConsequences) => OwnConsequences,
): Promise<Outcome<null>> {
  return withSql(viewer, async (client) => {
    const { settings } = await readOrganization(client, { forUpdate: true });
    const before = readOwnConsequences(settings.consequences);
    const after = edit(before);
    const trouble = checkConsequences(resolveConsequences(after));
    if (trouble) return failure({ path: "entry", message: trouble });
    await updateSettingsSection(client, viewer.organizationId, "consequences", after);
    await writeAudit(client, viewer.organizationId, {
      userId: viewer.userId,
      action: after[key] ? "costs.enter" : "costs.reset",
      entity: "Organization",
      entityId: viewer.organizationId,
      before: { [key]: before[key] ?? null },
      after: { [key]: after[key] ?? null },
    });
    await requestRiskPass(client, viewer, today);
    return success(null);
  });
}
