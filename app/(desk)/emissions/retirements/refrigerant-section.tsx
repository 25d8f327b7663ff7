import Link from "next/link";
import { ActButton } from "@/app/_components/act-button";
import { Caution } from "@/app/_components/caution";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import { formatDay, formatNumber } from "@/app/_lib/format";
import { dropRefrigerant } from "@/app/(desk)/emissions/record-actions";
import { REFRIGERANT_EVENT_LABELS } from "@/lib/core/emissions/refrigerant-account";
import { CAUTIONS } from "@/lib/core/heaters/cautions";
import { kilogramsToPounds } from "@/lib/core/shared/units";
import type { RefrigerantView } from "@/lib/services/emissions-refrigerant";
import { RefrigerantForm } from "./refrigerant-form";

/** The refrigerant log with the form that adds to it. */
export function RefrigerantSection({ mayEdit, entries }: RefrigerantView) {
  return (
    <section className="section">
      <h2>Refrigerant</h2>
      <p>
        What was topped up counts as lost in its year. When a heat pump is taken out, its charge
        less what was recovered counts as lost. Without an entry the account assumes a share of the
        charge.
      </p>
      {entries.length === 0 ? (
        <p>Nothing is on record yet{mayEdit ? ": start with a charge on its nameplate." : "."}</p>
      ) : (
        <LedgerFrame label="Refrigerant log, the latest first">
          <table className="ledger">
            <thead>
              <tr>
                <th scope="col">Heater</th>
                <th scope="col">Property</th>
                <th scope="col">Day</th>
                <th scope="col">What was done</th>
                <th scope="col">Refrigerant</th>
                <th scope="col" className="number">
                  Weight
                </th>
                <th scope="col">Note</th>
                {mayEdit && <th scope="col">Take back</th>}
              </tr>
            </thead>
            <tbody>
              {entries.map((entry) => (
                <tr key={entry.id}>
                  <th scope="row">
                    <Link href={`/heaters/${entry.heaterId}`}>{entry.tag}</Link>
                  </th>
                  <td>{entry.propertyName}</td>
                  <td>{formatDay(entry.day)}</td>
                  <td>{REFRIGERANT_EVENT_LABELS[entry.kind]}</td>
                  <td>{entry.refrigerant}</td>
                  <td className="number">
                    {formatNumber(kilogramsToPounds(entry.kg), 2)} lb ({formatNumber(entry.kg, 3)}{" "}
                    kg)
                  </td>
                  <td>{entry.note ?? "–"}</td>
                  {mayEdit && (
                    <td>
                      <ActButton act={dropRefrigerant.bind(null, entry.id)} label="Take back" />
                    </td>
                  )}
                </tr>
              ))}
            </tbody>
          </table>
        </LedgerFrame>
      )}
      {mayEdit && (
        <>
          <Caution>{CAUTIONS.refrigerant}</Caution>
          <RefrigerantForm />
        </>
      )}
    </section>
  );
}
