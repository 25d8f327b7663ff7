import type { ReactNode } from "react";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import { formatMoney, formatNumber, formatShare } from "@/app/_lib/format";

/** Sums over a group of heaters; see the service. */
export type Group = {
  readonly key: string;
  readonly heaters: number;
  readonly expectedFailures: number;
  readonly expectedLossCents: number;
  readonly meanAgeYears: number;
};

/** The fleet in groups: how many, how old, and what is to be expected within 12 months. */
export function GroupTable<G extends Group>({
  groups,
  groupName,
  label,
  nameOf,
}: {
  readonly groups: readonly G[];
  readonly groupName: string;
  readonly label: string;
  readonly nameOf: (group: G) => ReactNode;
}) {
  const sum = (of: (group: G) => number) => groups.reduce((total, group) => total + of(group), 0);
  const heaters = sum((group) => group.heaters);
  const failures = sum((group) => group.expectedFailures);
  return (
    <LedgerFrame label={label}>
      <table className="ledger">
        <thead>
          <tr>
            <th scope="col">{groupName}</th>
            <th scope="col" className="number">
              Heaters
            </th>
            <th scope="col" className="number">
              Mean age, years
            </th>
            <th scope="col" className="number">
              Expected failures
            </th>
            <th scope="col" className="number">
              Of its heaters
            </th>
            <th scope="col" className="number">
              Expected loss
            </th>
          </tr>
        </thead>
        <tbody>
          {groups.map((group) => (
            <tr key={group.key}>
              <th scope="row">{nameOf(group)}</th>
              <td className="number">{formatNumber(group.heaters)}</td>
              <td className="number">{formatNumber(group.meanAgeYears, 1)}</td>
              <td className="number">{formatNumber(group.expectedFailures, 1)}</td>
              <td className="number">{formatShare(group.expectedFailures / group.heaters)}</td>
              <td className="number">{formatMoney(group.expectedLossCents)}</td>
            </tr>
          ))}
        </tbody>
        {groups.length > 1 && (
          <tfoot>
            <tr>
              <th scope="row">All</th>
              <td className="number">{formatNumber(heaters)}</td>
              <td className="number">
                {formatNumber(sum((group) => group.meanAgeYears * group.heaters) / heaters, 1)}
              </td>
              <td className="number">{formatNumber(failures, 1)}</td>
              <td className="number">{formatShare(failures / heaters)}</td>
              <td className="number">{formatMoney(sum((group) => group.expectedLossCents))}</td>
            </tr>
          </tfoot>
        )}
      </table>
    </LedgerFrame>
  );
}
