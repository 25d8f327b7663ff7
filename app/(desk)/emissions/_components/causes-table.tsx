import { LedgerFrame } from "@/app/_components/ledger-frame";
import { formatKilograms, formatNumber, formatShare } from "@/app/_lib/format";
import {
  CHANGE_CAUSE_LABELS,
  CHANGE_CAUSES,
  type ChangeCause,
} from "@/lib/core/emissions/property-account";

/** Change below this many kilograms is shown as none. */
const NOTHING_KG = 0.5;

/** The ledger of years: the total, its change since the base year and what that comes from. */
export function CausesTable({
  baseYear,
  years,
}: {
  readonly baseYear: number;
  readonly years: readonly {
    readonly year: number;
    readonly kgCo2e: number;
    readonly change: Readonly<Record<ChangeCause, number>>;
    readonly swaps: number;
    readonly swapsToHeatPump: number;
    readonly meteredShare: number;
  }[];
}) {
  return (
    <LedgerFrame label="Change by cause">
      <table className="ledger">
        <thead>
          <tr>
            <th scope="col">Year</th>
            <th scope="col" className="number">
              Emissions
            </th>
            <th scope="col" className="number">
              Change since {baseYear}
            </th>
            {CHANGE_CAUSES.map((cause) => (
              <th key={cause} scope="col" className="number">
                {CHANGE_CAUSE_LABELS[cause]}
              </th>
            ))}
            <th scope="col" className="number">
              Swaps, to heat pumps
            </th>
            <th scope="col" className="number">
              Metered
            </th>
          </tr>
        </thead>
        <tbody>
          {years.map(({ year, kgCo2e, change, swaps, swapsToHeatPump, meteredShare }) => (
            <tr key={year}>
              <th scope="row">{year}</th>
              <td className="number">{formatKilograms(kgCo2e)}</td>
              <td className="number">
                {signed(CHANGE_CAUSES.reduce((sum, cause) => sum + change[cause], 0))}
              </td>
              {CHANGE_CAUSES.map((cause) => (
                <td key={cause} className="number">
                  {signed(change[cause])}
                </td>
              ))}
              <td className="number">
                {formatNumber(swaps)}, {formatNumber(swapsToHeatPump)}
              </td>
              <td className="number">{formatShare(meteredShare, 0)}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </LedgerFrame>
  );
}

function signed(kilograms: number): string {
  if (Math.abs(kilograms) < NOTHING_KG) return "–";
  return `${kilograms > 0 ? "+" : "−"}${formatKilograms(Math.abs(kilograms))}`;
}
