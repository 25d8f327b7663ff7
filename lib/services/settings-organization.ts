import "server-only";
import { type Outcome, success } from "@/lib/core/shared/outcome";
import { parseWith } from "@/lib/core/shared/validation";
import { writeAudit } from "@/lib/data/audit";
import { readOrganization, updateOrganization } from "@/lib/data/settings";
import { withSql } from "@/lib/data/tenant";
import { organizationFormSchema } from "./settings-property-form";
import { requireAction, type Viewer } from "./viewer";

/** Changes the organisation's name and which units come first. */
export async function saveOrganization(viewer: Viewer, input: unknown): Promise<Outcome<null>> {
  requireAction(viewer, "settings.edit");
  const parsed = parseWith(organizationFormSchema, input);
  if (!parsed.ok) return parsed;
  return withSql(viewer, async (client) => {
    const { name, unitSystem } = await readOrganization(client, { forUpdate: true });
    const before = { name, unitSystem };
    const after = parsed.value;
    if (before.name === after.name && before.unitSystem === after.unitSystem) return success(null);
    await updateOrganization(client, viewer.organizationId, after);
    await writeAudit(client, viewer.organizationId, {
      userId: viewer.userId,
      action: "organization.edit",
      entity: "Organization",
      entityId: viewer.organizationId,
      before,
      after,
    });
    return success(null);
  });
}
