import type { AccountSummary } from "@/lib/core/emissions/account-summary";
import type { EmissionsTerms } from "@/lib/core/emissions/emissions-terms";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import { failure, type Outcome, success } from "@/lib/core/shared/outcome";
import { findEmissionsRun } from "@/lib/data/emissions-runs";
import { readEmissionsTerms, writeEmissionsTerms } from "@/lib/data/emissions-terms";
import type { SqlClient } from "@/lib/data/tenant";

/**
 * Adopts the base year's emissions of a kept account as the figure that later years are compared with,
 * and fixes its year. Structural changes before it are in it and are cleared.
 *
 * @param updatedBy id of the person; null for the demo's own
 */
export async function adoptRun(
  client: SqlClient,
  organizationId: string,
  runId: string,
  { today, updatedBy }: { readonly today: CalendarDay; readonly updatedBy: string | null },
): Promise<Outcome<{ readonly before: EmissionsTerms; readonly after: EmissionsTerms }>> {
  const run = await findEmissionsRun(client, runId);
  if (run?.status !== "done" || run.fingerprint === null) {
    return failure({ path: "", message: "There is no such account." });
  }
  const { base, coverage } = run.summary as AccountSummary;
  const { terms: before, version } = await readEmissionsTerms(client);
  const after: EmissionsTerms = {
    ...before,
    baseYear: run.baseYear,
    coverage,
    adopted: { kgCo2e: base.computedKg, fingerprint: run.fingerprint, adoptedOn: today },
    changes: [],
  };
  const isWritten = await writeEmissionsTerms(client, organizationId, {
    terms: after,
    version,
    updatedBy,
  });
  if (!isWritten) return failure({ path: "", message: "Somebody else changed this: try again." });
  return success({ before, after });
}
