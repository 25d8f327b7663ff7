import { LedgerFrame } from "@/app/_components/ledger-frame";
import { formatNumber } from "@/app/_lib/format";
import type { SourcedValue } from "@/lib/core/shared/sourced";
import { FINDING_LABELS, type Finding } from "@/lib/core/upkeep/findings";
import { DEFAULT_UPKEEP_RULES as RULES } from "@/lib/core/upkeep/rules";

/** Factors on intervals, each with its source. */
export function FactorTable() {
  const rows: readonly (readonly [string, SourcedValue])[] = [
    [
      `Hardness above ${formatNumber(RULES.hardFromMgPerLitre.value)} mg/L: flush`,
      RULES.hardWaterFactor,
    ],
    ["Soft (USGS class) or softened water: flush", RULES.softWaterFactor],
    ["Softened water: anode", RULES.softenedAnodeFactor],
    ...(Object.entries(RULES.findingFactors) as [Finding, SourcedValue][]).map(
      ([finding, factor]) => [`Found: ${FINDING_LABELS[finding].toLowerCase()}`, factor] as const,
    ),
  ];
  return (
    <LedgerFrame label="Factors on intervals">
      <table className="ledger">
        <thead>
          <tr>
            <th scope="col">When</th>
            <th scope="col" className="number">
              Interval ×
            </th>
            <th scope="col">Where that is from</th>
          </tr>
        </thead>
        <tbody>
          {rows.map(([label, factor]) => (
            <tr key={label}>
              <th scope="row">{label}</th>
              <td className="number">
                {factor.value === 0 ? "at once" : formatNumber(factor.value, 1)}
              </td>
              <td>
                {factor.source} <span className="soft">({factor.evidence})</span>
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </LedgerFrame>
  );
}
