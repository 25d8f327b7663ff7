import "server-only";
import { failure, type Outcome, success } from "@/lib/core/shared/outcome";
import { writeAudit } from "@/lib/data/audit";
import { type CatalogueOption, ensureOptions, listOptions, updateOption } from "@/lib/data/options";
import { withSql } from "@/lib/data/tenant";
import { readOptionForm } from "./option-form";
import { mayDo } from "./permissions";
import { requireAction, type Viewer } from "./viewer";

export type { CatalogueOption } from "@/lib/data/options";

export type Catalogue = {
  readonly mayEdit: boolean;
  readonly options: readonly CatalogueOption[];
};

/** The organisation's options; the starting catalogue on first use. */
export function readCatalogue(viewer: Viewer): Promise<Catalogue> {
  requireAction(viewer, "record.read");
  return withSql(viewer, async (client) => {
    await ensureOptions(client, viewer.organizationId);
    return { mayEdit: mayDo(viewer.role, "settings.edit"), options: await listOptions(client) };
  });
}

/** Changes an option. Plans that were computed keep the costs that they were computed with. */
export function saveOption(viewer: Viewer, code: string, input: unknown): Promise<Outcome<null>> {
  requireAction(viewer, "settings.edit");
  return withSql(viewer, async (client) => {
    const before = (await listOptions(client)).find((option) => option.code === code);
    if (!before) return failure({ path: "", message: "The catalogue has no such option." });
    const form = readOptionForm(input, before.terms);
    if (!form.ok) return form;
    await updateOption(client, code, form.value);
    await writeAudit(client, viewer.organizationId, {
      userId: viewer.userId,
      action: "option.edit",
      entity: "OptionType",
      entityId: before.id,
      before: { name: before.name, isActive: before.isActive, terms: before.terms },
      after: form.value,
    });
    return success(null);
  });
}
