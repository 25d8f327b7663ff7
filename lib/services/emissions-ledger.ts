import "server-only";
import { type LedgerYear, retirementLedger } from "@/lib/core/emissions/retirement-ledger";
import { failure, type Outcome, success } from "@/lib/core/shared/outcome";
import { poundsToKilograms } from "@/lib/core/shared/units";
import { parseWith } from "@/lib/core/shared/validation";
import { writeAudit } from "@/lib/data/audit";
import {
  listRetired,
  type RetiredRow,
  retiredHeaterOf,
  writeDisposal,
} from "@/lib/data/emissions-ledger";
import { withSql } from "@/lib/data/tenant";
import { disposalFormSchema } from "./emissions-forms";
import { mayDo } from "./permissions";
import { requireAction, type Viewer } from "./viewer";

/** Retired heaters of one year that are listed at once. */
const LISTED = 200;

export type RetirementsView = {
  readonly mayEdit: boolean;
  readonly years: readonly LedgerYear[];
  readonly year: number | null;
  readonly heaters: readonly RetiredRow[];
};

/** Where the old heaters went, by year, and the heaters of one year. */
export function readRetirements(viewer: Viewer, year: number | null): Promise<RetirementsView> {
  requireAction(viewer, "record.read");
  return withSql(viewer, async (client) => {
    const years = retirementLedger((await listRetired(client)).map(retiredHeaterOf));
    const shown = years.find((each) => each.year === year)?.year ?? years[0]?.year ?? null;
    return {
      mayEdit: mayDo(viewer.role, "settings.edit"),
      years,
      year: shown,
      heaters: shown === null ? [] : await listRetired(client, { year: shown, limit: LISTED }),
    };
  });
}

/** Notes where a retired heater went; a later note takes the place of an earlier one. */
export async function recordDisposal(viewer: Viewer, input: unknown): Promise<Outcome<null>> {
  requireAction(viewer, "settings.edit");
  const parsed = parseWith(disposalFormSchema, input);
  if (!parsed.ok) return parsed;
  const { weighedPounds, ...form } = parsed.value;
  const disposal = {
    ...form,
    weighedKg: weighedPounds === null ? null : poundsToKilograms(weighedPounds),
  };
  return withSql(viewer, async (client) => {
    const isWritten = await writeDisposal(client, viewer.organizationId, disposal, viewer.userId);
    if (!isWritten) return failure({ path: "heaterId", message: "This heater is not retired." });
    await writeAudit(client, viewer.organizationId, {
      userId: viewer.userId,
      action: "disposal.record",
      entity: "Disposal",
      entityId: form.heaterId,
      after: disposal,
    });
    return success(null);
  });
}
