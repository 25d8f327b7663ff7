import { LedgerFrame } from "@/app/_components/ledger-frame";
import { formatKilograms, formatNumber } from "@/app/_lib/format";
import { activityName, BASIS_LABELS, gasName } from "@/app/(desk)/emissions/_lib/words";
import type { EmissionLine } from "@/lib/core/emissions/annual-emissions";

/** Each amount of the account with the factor it was multiplied by, its vintage and its source. */
export function LinesTable({ lines }: { readonly lines: readonly EmissionLine[] }) {
  return (
    <LedgerFrame label="Emission lines with factors">
      <table className="ledger">
        <thead>
          <tr>
            <th scope="col">Scope</th>
            <th scope="col">Of what</th>
            <th scope="col">Basis</th>
            <th scope="col">Gas</th>
            <th scope="col" className="number">
              Amount
            </th>
            <th scope="col" className="number">
              Factor
            </th>
            <th scope="col" className="number">
              Vintage
            </th>
            <th scope="col" className="number">
              CO2-equivalent
            </th>
            <th scope="col">Source</th>
          </tr>
        </thead>
        <tbody>
          {lines.map((line) => (
            <tr key={`${line.scope} ${line.method} ${line.basis} ${line.factor.id}`}>
              <th scope="row">
                {line.scope}
                {line.scope === 2 && `, ${line.method}-based`}
              </th>
              <td>{activityName(line.factor)}</td>
              <td>{BASIS_LABELS[line.basis]}</td>
              <td>{gasName(line.gas)}</td>
              <td className="number">
                {formatNumber(line.amount, line.amount < 100 ? 2 : 0)} {line.amountUnit}
              </td>
              <td className="number">
                {line.factor.value} {line.factor.unit === "gwp" ? "kg/kg" : line.factor.unit}
              </td>
              <td className="number">{line.factor.vintage}</td>
              <td className="number">{formatKilograms(line.kgCo2e)}</td>
              <td>
                {line.factor.source} <span className="soft">({line.factor.evidence})</span>
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </LedgerFrame>
  );
}
