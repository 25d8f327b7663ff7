import { Chart, type Series } from "@/app/_components/chart";
import { formatKilograms } from "@/app/_lib/format";
import type { AccountSummary } from "@/lib/core/emissions/account-summary";
import type { ScopeTotals } from "@/lib/core/emissions/annual-emissions";
import { COVERAGE_LABELS, coveredKg } from "@/lib/core/emissions/target";
import type { PropertyPath } from "@/lib/services/emissions";

type Point = { readonly year: number; readonly kgCo2e: ScopeTotals };

/** Achieved by scope as bars, planned and unchanged as lines, the target line across. */
export function PathChart({
  summary,
  property,
}: {
  readonly summary: AccountSummary;
  readonly property: PropertyPath | null;
}) {
  const achieved: readonly Point[] = property?.achieved ?? summary.achieved;
  const planned: readonly Point[] =
    property?.planned ?? summary.path.map(({ year, planned: kgCo2e }) => ({ year, kgCo2e }));
  const unchanged: readonly Point[] =
    property?.unchanged ?? summary.path.map(({ year, unchanged: kgCo2e }) => ({ year, kgCo2e }));
  const target = property ? [] : summary.target;
  const { coverage } = summary;
  const years = [...new Set([...achieved, ...planned, ...target].map(({ year }) => year))].sort(
    (a, b) => a - b,
  );
  const tonnes = (points: readonly Point[], of: (kgCo2e: ScopeTotals) => number) => {
    const byYear = new Map(points.map(({ year, kgCo2e }) => [year, of(kgCo2e) / 1000]));
    return years.map((year) => byYear.get(year) ?? null);
  };
  const covered = (points: readonly Point[]) =>
    tonnes(points, (kgCo2e) => coveredKg(kgCo2e, coverage));
  const targetOf = new Map(target.map(({ year, kgCo2e }) => [year, kgCo2e / 1000]));
  const scope2 = coverage === "owner-market" ? "scope2Market" : "scope2Location";
  const bar = (label: string, ink: Series["ink"], of: (kgCo2e: ScopeTotals) => number): Series => ({
    label,
    ink,
    stack: "achieved",
    values: tonnes(achieved, of),
  });
  const line = (label: string, ink: Series["ink"], values: Series["values"]): Series => ({
    label,
    ink,
    values,
    kind: "line",
    isDashed: true,
  });
  const lastAchieved = achieved.at(-1);
  const lastPlanned = planned.at(-1);
  const lastTarget = target.at(-1);
  const told = [
    lastAchieved &&
      `${formatKilograms(coveredKg(lastAchieved.kgCo2e, coverage))} in ${lastAchieved.year}, the year under way counted to its end`,
    lastPlanned &&
      `${formatKilograms(coveredKg(lastPlanned.kgCo2e, coverage))} in ${lastPlanned.year} ${summary.plan ? "along the plan" : "with today’s heaters"}`,
    lastTarget && `the target allows ${formatKilograms(lastTarget.kgCo2e)} in ${lastTarget.year}`,
  ].filter(Boolean);
  return (
    <Chart
      title="Tonnes by year"
      summary={`${COVERAGE_LABELS[coverage]}: ${told.join("; ")}.`}
      labelsName="Year"
      labels={years.map(String)}
      unit="tonnes CO2-equivalent a year"
      format="decimal"
      series={[
        bar("Scope 1, achieved", "copper", (kg) => kg.scope1),
        bar(
          coverage === "owner-market" ? "Scope 2, market-based" : "Scope 2, location-based",
          "tide",
          (kg) => kg[scope2],
        ),
        ...(coverage === "all-location"
          ? [bar("Scope 3, residents’ meters", "series-grey", (kg) => kg.scope3)]
          : []),
        ...(summary.plan ? [line("Planned", "tide", covered(planned))] : []),
        line("Today’s heaters kept", "ink", covered(unchanged)),
        ...(target.length > 0
          ? [
              line(
                "Target",
                "ochre-mark",
                years.map((year) => targetOf.get(year) ?? null),
              ),
            ]
          : []),
      ]}
    />
  );
}
