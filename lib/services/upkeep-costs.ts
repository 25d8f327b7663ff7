import type { TaskKind, Technology } from "@/lib/core/heaters/vocabulary";
import type { Cents } from "@/lib/core/shared/money";
import {
  costOfWork,
  type UpkeepCost,
  type WorkDone,
  yearlyCostPerHeater,
} from "@/lib/core/upkeep/upkeep-cost";
import type { WorkTerms } from "@/lib/core/upkeep/work-terms";
import type { SqlClient } from "@/lib/data/tenant";
import { type LogFilter, sumHeaterYears, sumWork, type WorkTotals } from "@/lib/data/upkeep-visits";
import { loadWorkTerms } from "./upkeep-rules";

/** What the care of heaters of one technology cost over a time, and for one heater and year. */
export type TechnologyCost = UpkeepCost & {
  readonly technology: string;
  readonly heaterYears: number;
  /** null where the heaters were in service for less than a year together. */
  readonly centsPerHeaterYear: Cents | null;
};

/**
 * Yearly upkeep cost of a heater by technology, from the work log: what plans may use instead of an
 * assumed amount. A technology without a visit on record costs nothing here, which is not a finding:
 * `visits` says how much it rests on.
 */
export async function loadUpkeepCosts(
  client: SqlClient,
  filter: LogFilter,
): Promise<readonly TechnologyCost[]> {
  const work = await loadWorkTerms(client);
  const years = await sumHeaterYears(client, filter);
  const totals = new Map((await sumWork(client, filter)).map((total) => [total.technology, total]));
  return [...years]
    .filter(([technology, heaterYears]) => heaterYears > 0 || totals.has(technology))
    .map(([technology, heaterYears]): TechnologyCost => {
      const cost = costOfWork(workOf(totals.get(technology), work), work.labourCentsPerHour.value);
      return {
        technology,
        heaterYears,
        ...cost,
        centsPerHeaterYear: heaterYears < 1 ? null : yearlyCostPerHeater(cost, heaterYears),
      };
    })
    .sort((a, b) => b.heaterYears - a.heaterYears);
}

/** What a yearly cost has to rest on before a plan takes it for the catalogue's assumed one. */
const ENOUGH = { visits: 20, heaterYears: 50 };

/** Yearly upkeep of a heater for plans: of the technologies whose own log of the years says enough. */
export async function loadOwnUpkeepCents(
  client: SqlClient,
  span: Pick<LogFilter, "from" | "to">,
): Promise<ReadonlyMap<Technology, Cents>> {
  const costs = await loadUpkeepCosts(client, { ...span, propertyId: null, performedBy: null });
  return new Map(
    costs.flatMap(({ technology, visits, heaterYears, centsPerHeaterYear }) =>
      visits >= ENOUGH.visits && heaterYears >= ENOUGH.heaterYears && centsPerHeaterYear !== null
        ? [[technology as Technology, centsPerHeaterYear] as const]
        : [],
    ),
  );
}

function workOf(total: WorkTotals | undefined, work: WorkTerms): WorkDone {
  const untimedVisits = total?.untimedVisits ?? 0;
  const tasks = Object.entries(total?.untimedTasks ?? {}) as [TaskKind, number][];
  return {
    visits: total?.visits ?? 0,
    minutes: total?.minutes ?? 0,
    untimedVisits,
    usualMinutes: tasks.reduce(
      (sum, [task, count]) => sum + count * work.taskMinutes[task].value,
      untimedVisits * work.entryMinutes.value,
    ),
    partsCents: total?.partsCents ?? 0,
    unpricedParts: total?.unpricedParts ?? 0,
    otherCents: total?.costCents ?? 0,
  };
}
