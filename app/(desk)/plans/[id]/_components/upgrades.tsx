import { Caution } from "@/app/_components/caution";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import { formatMoney, formatNumber } from "@/app/_lib/format";
import styles from "@/app/(desk)/plans/_components/plans.module.css";
import { periodWords } from "@/app/(desk)/plans/_lib/words";
import { CAUTIONS } from "@/lib/core/heaters/cautions";
import type { PlanUpgradeLine } from "@/lib/services/plan-pages";

/** Electrical services that the plan upgrades, and what each carries before and after. */
export function Upgrades({ upgrades }: { readonly upgrades: readonly PlanUpgradeLine[] }) {
  return (
    <section className="section">
      <h2>Electrical upgrades</h2>
      {upgrades.length === 0 ? (
        <p>
          None: every planned circuit fits what the buildings’ services still carry, as it is on
          record.
        </p>
      ) : (
        <LedgerFrame label="Electrical upgrades">
          <table className={`ledger ${styles.medium}`}>
            <thead>
              <tr>
                <th scope="col">When</th>
                <th scope="col">Building</th>
                <th scope="col" className="number">
                  New circuits before
                </th>
                <th scope="col" className="number">
                  added
                </th>
                <th scope="col" className="number">
                  Cost
                </th>
              </tr>
            </thead>
            <tbody>
              {upgrades.map((upgrade) => (
                <tr key={upgrade.buildingId}>
                  <th scope="row">{periodWords(upgrade.period)}</th>
                  <td>
                    {upgrade.propertyName}, {upgrade.buildingName}
                  </td>
                  <td className="number">
                    {upgrade.headroomCircuits === null
                      ? "not limited"
                      : formatNumber(upgrade.headroomCircuits)}
                  </td>
                  <td className="number">
                    {upgrade.upgradeAddsCircuits === null
                      ? "–"
                      : formatNumber(upgrade.upgradeAddsCircuits)}
                  </td>
                  <td className="number">{formatMoney(upgrade.costCents)}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </LedgerFrame>
      )}
      <Caution>{CAUTIONS.electrical}</Caution>
    </section>
  );
}
