import "server-only";
import { DEFAULT_OPTIONS, type ReplacementOption } from "@/lib/core/planning/options";
import { failure, type Outcome, success } from "@/lib/core/shared/outcome";
import { writeAudit } from "@/lib/data/audit";
import {
  type CatalogueOption,
  ensureOptions,
  insertOption,
  listOptions,
  updateOption,
} from "@/lib/data/options";
import { withSql } from "@/lib/data/tenant";
import { readOptionForm } from "./option-form";
import { mayDo } from "./permissions";
import { requireAction, type Viewer } from "./viewer";

export type { CatalogueOption } from "@/lib/data/options";

export type Catalogue = {
  readonly mayEdit: boolean;
  readonly options: readonly CatalogueOption[];
  /** Options of the starting catalogue that this one does not have. */
  readonly startingOptions: readonly Pick<ReplacementOption, "code" | "name">[];
};

/** The organisation's options; the starting catalogue on first use. */
export function readCatalogue(viewer: Viewer): Promise<Catalogue> {
  requireAction(viewer, "record.read");
  return withSql(viewer, async (client) => {
    await ensureOptions(client, viewer.organizationId);
    const options = await listOptions(client);
    const known = new Set(options.map(({ code }) => code));
    return {
      mayEdit: mayDo(viewer.role, "settings.edit"),
      options,
      startingOptions: DEFAULT_OPTIONS.filter(({ code }) => !known.has(code)),
    };
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

/**
 * Adds an option: one of the starting catalogue under its own code, or a copy of one that is there, to be
 * changed afterwards.
 *
 * @returns the code of the new option
 */
export function addOption(
  viewer: Viewer,
  fromCode: string,
): Promise<Outcome<{ readonly code: string }>> {
  requireAction(viewer, "settings.edit");
  return withSql(viewer, async (client) => {
    await ensureOptions(client, viewer.organizationId);
    const options = await listOptions(client);
    const own = options.find(({ code }) => code === fromCode);
    const starting = DEFAULT_OPTIONS.find(({ code }) => code === fromCode);
    const source = own ?? starting;
    if (!source)
      return failure({ path: "from", message: "There is no such option to start from." });
    const added = own
      ? {
          code: freeCode(fromCode, new Set(options.map(({ code }) => code))),
          name: `${own.name} (copy)`.slice(0, 80),
          terms: own.terms,
        }
      : { code: source.code, name: source.name, terms: source.terms };
    if (!(await insertOption(client, viewer.organizationId, added))) {
      return failure({ path: "from", message: "Somebody has just added it." });
    }
    await writeAudit(client, viewer.organizationId, {
      userId: viewer.userId,
      action: "option.add",
      entity: "OptionType",
      entityId: null,
      after: { code: added.code, name: added.name, from: fromCode },
    });
    return success({ code: added.code });
  });
}

/** `hp240-50` becomes `hp240-50-2`, `hp240-50-3`, … */
function freeCode(code: string, taken: ReadonlySet<string>): string {
  let number = 2;
  while (taken.has(`${code}-${number}`)) number += 1;
  return `${code}-${number}`;
}
