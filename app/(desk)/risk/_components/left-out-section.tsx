import Link from "next/link";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import { formatNumber } from "@/app/_lib/format";
import type { LeftOut } from "@/lib/core/survival/fit-report";
import type { FitDetail } from "@/lib/services/risk-fits";

/** Heaters that nothing could be learnt from, each with the reason. */
export function LeftOutSection({
  leftOut: { total, reasons, named },
  heaterNames,
}: {
  readonly leftOut: LeftOut;
  readonly heaterNames: FitDetail["heaterNames"];
}) {
  if (total === 0) return <p className="soft">Every heater on record was learnt from.</p>;
  return (
    <>
      <p>
        {formatNumber(total)} {total === 1 ? "heater was" : "heaters were"} left out:{" "}
        {reasons.map(({ reason, records }) => `${reason} (${formatNumber(records)})`).join("; ")}.
        Put right on the heater’s page, they count in the next fit.
      </p>
      <details>
        <summary>
          {named.length === total
            ? "Which ones"
            : `The first ${formatNumber(named.length)} of them`}
        </summary>
        <LedgerFrame label="Heaters left out">
          <table className="ledger">
            <thead>
              <tr>
                <th scope="col">Heater</th>
                <th scope="col">Property</th>
                <th scope="col">Why</th>
              </tr>
            </thead>
            <tbody>
              {named.map(({ path, message }) => (
                <tr key={path}>
                  <th scope="row">
                    <Link href={`/heaters/${path}`}>{heaterNames[path]?.tag ?? "A heater"}</Link>
                  </th>
                  <td>{heaterNames[path]?.propertyName}</td>
                  <td>{message}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </LedgerFrame>
      </details>
    </>
  );
}
