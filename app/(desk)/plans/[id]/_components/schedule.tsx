import { Caution } from "@/app/_components/caution";
import { formatMoney, formatNumber } from "@/app/_lib/format";
import { CAUTIONS } from "@/lib/core/heaters/cautions";
import type { ScenarioTerms } from "@/lib/core/planning/scenario";
import type { ScheduleGroup } from "@/lib/services/plan-pages";
import type { PlanSummary } from "@/lib/services/plan-summary";
import { LeftLines, type ScheduleRow, ScheduleRows } from "./schedule-rows";

/** The schedule by year and building; a building opens to its lines, a line to its costs. */
export function Schedule({
  runId,
  terms,
  summary,
  groups,
}: {
  readonly runId: string;
  readonly terms: ScenarioTerms;
  readonly summary: PlanSummary;
  readonly groups: readonly ScheduleGroup[];
}) {
  const yearOf = new Map(terms.periods.map(({ id, budgetYear }) => [id, budgetYear]));
  const years = new Map<string, ScheduleRow[]>();
  for (const group of groups) {
    const year = yearOf.get(group.period) ?? group.period;
    const rows = years.get(year) ?? [];
    years.set(year, rows);
    const last = rows[rows.length - 1];
    if (last && last.period === group.period && last.buildingId === group.buildingId) {
      rows[rows.length - 1] = withOption(last, group);
    } else {
      rows.push(withOption(emptyRow(group), group));
    }
  }
  const { swaps, heaters } = summary.headline;
  return (
    <section className="section">
      <h2>Schedule by year and building</h2>
      {[...years].map(([year, rows]) => {
        const buildings = new Set(rows.map(({ buildingId }) => buildingId)).size;
        const count = rows.reduce((sum, row) => sum + row.swaps, 0);
        return (
          <details key={year}>
            <summary>
              <strong>{year}</strong>: {formatNumber(count)} {count === 1 ? "swap" : "swaps"} in{" "}
              {formatNumber(buildings)} {buildings === 1 ? "building" : "buildings"},{" "}
              {formatMoney(rows.reduce((sum, row) => sum + row.capitalCents, 0))}
            </summary>
            <div id={`lines-${year}`}>
              <ScheduleRows
                runId={runId}
                year={year}
                rows={rows}
                optionNames={summary.optionNames}
              />
            </div>
          </details>
        );
      })}
      {heaters > swaps && (
        <details>
          <summary>
            <strong>Not within the horizon</strong>: {formatNumber(heaters - swaps)} heaters stay
            and are run to failure or beyond{" "}
            {terms.periods[terms.periods.length - 1]?.end.slice(0, 4)}
          </summary>
          <LeftLines runId={runId} optionNames={summary.optionNames} />
        </details>
      )}
      <div className="columns">
        <Caution>{CAUTIONS["gas-capoff"]}</Caution>
        <Caution>{CAUTIONS["combustion-air"]}</Caution>
        <Caution>{CAUTIONS.lifting}</Caution>
        <Caution>{CAUTIONS.refrigerant}</Caution>
      </div>
    </section>
  );
}

function emptyRow({ period, buildingId, buildingName, propertyName }: ScheduleGroup): ScheduleRow {
  return {
    period,
    buildingId,
    buildingName,
    propertyName,
    swaps: 0,
    swapsByOption: [],
    capitalCents: 0,
    hours: 0,
  };
}

function withOption(row: ScheduleRow, group: ScheduleGroup): ScheduleRow {
  return {
    ...row,
    swaps: row.swaps + group.swaps,
    swapsByOption: [...row.swapsByOption, { code: group.optionCode, swaps: group.swaps }],
    capitalCents: row.capitalCents + group.capitalCents,
    hours: row.hours + group.hours,
  };
}
