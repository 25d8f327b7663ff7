import "server-only";
import { TASK_KINDS } from "@/lib/core/heaters/vocabulary";
import { failure, type Outcome, success } from "@/lib/core/shared/outcome";
import { parseWith } from "@/lib/core/shared/validation";
import {
  type OwnWorkTerms,
  readOwnWorkTerms,
  resolveWorkTerms,
  type WorkTerms,
} from "@/lib/core/upkeep/work-terms";
import { writeAudit } from "@/lib/data/audit";
import { readOrganization, updateSettingsSection } from "@/lib/data/settings";
import { type TenantClient, withSql } from "@/lib/data/tenant";
import {
  listPropertyChoices,
  loadOwnIntervals,
  type OwnIntervals,
  type PropertyChoice,
  writeOwnInterval,
} from "@/lib/data/upkeep";
import { mayDo } from "./permissions";
import { intervalsFormSchema, noticeFormSchema, workTermsFormSchema } from "./upkeep-forms";
import { WORK_TERMS_SECTION } from "./upkeep-rules";
import { requireAction, type Viewer } from "./viewer";

export type RulesView = {
  readonly properties: readonly (PropertyChoice & { readonly ownIntervals: number })[];
  readonly propertyId: string | null;
  readonly own: OwnIntervals;
  readonly work: WorkTerms;
  /** What the organisation entered itself. */
  readonly ownWork: OwnWorkTerms;
  readonly mayEdit: boolean;
};

/** The rules of upkeep: a property's own intervals, how long work takes, and the wording of notices. */
export function readUpkeepRules(viewer: Viewer, askedProperty: string | null): Promise<RulesView> {
  requireAction(viewer, "record.read");
  return withSql(viewer, async (client) => {
    const choices = await listPropertyChoices(client);
    const own = await loadOwnIntervals(client);
    const propertyId = choices.find(({ id }) => id === askedProperty)?.id ?? choices[0]?.id ?? null;
    const ownWork = await readOwn(client);
    return {
      properties: choices.map((choice) => ({
        ...choice,
        ownIntervals: Object.keys(own.get(choice.id) ?? {}).length,
      })),
      propertyId,
      own: (propertyId === null ? undefined : own.get(propertyId)) ?? {},
      work: resolveWorkTerms(ownWork),
      ownWork,
      mayEdit: mayDo(viewer.role, "heater.edit"),
    };
  });
}

async function readOwn(client: TenantClient, { forUpdate = false } = {}): Promise<OwnWorkTerms> {
  const { settings } = await readOrganization(client, { forUpdate });
  return readOwnWorkTerms(settings[WORK_TERMS_SECTION]);
}

/** Sets a property's own intervals; what is left empty follows the program's rules again. */
export async function saveIntervals(viewer: Viewer, input: unknown): Promise<Outcome<null>> {
  requireAction(viewer, "heater.edit");
  const parsed = parseWith(intervalsFormSchema, input);
  if (!parsed.ok) return parsed;
  const { propertyId, intervals } = parsed.value;
  return withSql(viewer, async (client) => {
    const properties = await listPropertyChoices(client);
    if (!properties.some(({ id }) => id === propertyId)) {
      return failure({ path: "", message: "There is no such property any more." });
    }
    const before = (await loadOwnIntervals(client, propertyId)).get(propertyId) ?? {};
    for (const task of TASK_KINDS) {
      const [was, wanted] = [before[task], intervals[task]];
      if (was?.months === wanted?.months && was?.source === wanted?.source) continue;
      await writeOwnInterval(client, viewer.organizationId, {
        propertyId,
        task,
        interval: wanted ?? null,
        setBy: viewer.name,
      });
    }
    await writeAudit(client, viewer.organizationId, {
      userId: viewer.userId,
      action: "upkeep.intervals",
      entity: "Property",
      entityId: propertyId,
      before,
      after: intervals,
    });
    return success(null);
  });
}

/** Sets how long work takes and what an hour costs. */
export async function saveWorkTerms(viewer: Viewer, input: unknown): Promise<Outcome<null>> {
  requireAction(viewer, "heater.edit");
  const parsed = parseWith(workTermsFormSchema, input);
  if (!parsed.ok) return parsed;
  return changeWorkTerms(viewer, ({ noticeWording }) => ({ ...parsed.value, noticeWording }));
}

/** Sets the wording of entry notices; null takes up the program's again. */
export async function saveNoticeWording(viewer: Viewer, input: unknown): Promise<Outcome<null>> {
  requireAction(viewer, "heater.edit");
  if (input === null) {
    return changeWorkTerms(viewer, (own) => ({ ...own, noticeWording: undefined }));
  }
  const parsed = parseWith(noticeFormSchema, input);
  if (!parsed.ok) return parsed;
  return changeWorkTerms(viewer, (own) => ({ ...own, noticeWording: parsed.value.wording }));
}

function changeWorkTerms(
  viewer: Viewer,
  change: (own: OwnWorkTerms) => OwnWorkTerms,
): Promise<Outcome<null>> {
  return withSql(viewer, async (client) => {
    const before = await readOwn(client, { forUpdate: true });
    const after = change(before);
    await updateSettingsSection(client, viewer.organizationId, WORK_TERMS_SECTION, after);
    await writeAudit(client, viewer.organizationId, {
      userId: viewer.userId,
      action: "upkeep.work-terms",
      entity: "Organization",
      entityId: viewer.organizationId,
      before,
      after,
    });
    return success(null);
  });
}
