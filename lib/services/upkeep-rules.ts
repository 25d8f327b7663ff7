import { DEFAULT_UPKEEP_RULES, type UpkeepRules, withIntervals } from "@/lib/core/upkeep/rules";
import { readOwnWorkTerms, resolveWorkTerms, type WorkTerms } from "@/lib/core/upkeep/work-terms";
import { readOrganization } from "@/lib/data/settings";
import type { SqlClient } from "@/lib/data/tenant";
import { loadOwnIntervals } from "@/lib/data/upkeep";

/** The rules of a property: the program's, with the property's own intervals. */
export type RulesOf = (propertyId: string) => UpkeepRules;

/** The rules in force, of one property or of all. Whatever says when care is due must ask here. */
export async function loadUpkeepRules(
  client: SqlClient,
  propertyId: string | null = null,
): Promise<RulesOf> {
  const own = await loadOwnIntervals(client, propertyId);
  const rules = new Map(
    [...own].map(([id, intervals]) => [id, withIntervals(DEFAULT_UPKEEP_RULES, intervals)]),
  );
  return (id) => rules.get(id) ?? DEFAULT_UPKEEP_RULES;
}

/** Section of the organisation's settings that holds how it works. */
export const WORK_TERMS_SECTION = "upkeep";

/** How long work takes and what it costs, by the organisation's own numbers where entered. */
export async function loadWorkTerms(client: SqlClient): Promise<WorkTerms> {
  const { settings } = await readOrganization(client);
  return resolveWorkTerms(readOwnWorkTerms(settings[WORK_TERMS_SECTION]));
}
