import Link from "next/link";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import { formatNumber } from "@/app/_lib/format";
import { KEPT_REASON_SENTENCES, type UndoNote as Undone } from "@/lib/core/exchange/import-batch";

/** What an undo took out and put back, and which heaters it left alone. */
export function UndoNote({ undone }: { readonly undone: Undone }) {
  const facts: readonly (readonly [label: string, count: number])[] = [
    ["Heaters taken out", undone.removedHeaters],
    ["Heaters as they were before", undone.restoredHeaters],
    ["Empty homes taken out", undone.removedHomes],
    ["Empty buildings taken out", undone.removedBuildings],
    ["Empty properties taken out", undone.removedProperties],
    ["Heaters left as they are", undone.keptCount],
  ];
  return (
    <section className="section">
      <h2>What the undo did</h2>
      <dl className="facts" style={{ maxWidth: "32rem" }}>
        {facts.map(([label, count]) => (
          <div key={label} style={{ display: "contents" }}>
            <dt>{label}</dt>
            <dd>{formatNumber(count)}</dd>
          </div>
        ))}
      </dl>
      {undone.keptCount > 0 && (
        <>
          <p className="notice notice--attention">
            {formatNumber(undone.keptCount)}{" "}
            {undone.keptCount === 1 ? "heater was" : "heaters were"} touched after this file was
            brought in. They are left as they are, so that no later work is lost; look at them one
            by one.
          </p>
          <LedgerFrame label="Heaters left as they are">
            <table className="ledger">
              <thead>
                <tr>
                  <th scope="col">Heater</th>
                  <th scope="col">Why it is left</th>
                </tr>
              </thead>
              <tbody>
                {undone.kept.map(({ heaterId, tag, reason }) => (
                  <tr key={heaterId}>
                    <th scope="row">
                      <Link href={`/heaters/${heaterId}`} prefetch={false}>
                        {tag}
                      </Link>
                    </th>
                    <td className="sentence">{KEPT_REASON_SENTENCES[reason]}</td>
                  </tr>
                ))}
              </tbody>
            </table>
          </LedgerFrame>
          {undone.keptCount > undone.kept.length && (
            <p className="soft">
              and {formatNumber(undone.keptCount - undone.kept.length)} more of them
            </p>
          )}
        </>
      )}
    </section>
  );
}
