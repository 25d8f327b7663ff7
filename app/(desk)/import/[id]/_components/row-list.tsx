import Link from "next/link";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import { formatNumber } from "@/app/_lib/format";
import styles from "@/app/(desk)/import/import.module.css";
import type { ImportPage, ImportRowLine, RowList as ListName } from "@/lib/services/bring-in-pages";

const LABELS: Readonly<Record<ListName, string>> = {
  refused: "Refused",
  changed: "Changed",
  added: "Added",
  same: "Unchanged",
};

/** The rows of a file by what becomes of them, a page at a time. */
export function RowList({ page }: { readonly page: ImportPage }) {
  const { batch, list } = page;
  const counts: Readonly<Record<ListName, number>> = {
    refused: batch.refusedCount,
    changed: batch.changedCount,
    added: batch.addedCount,
    same: batch.unchangedCount,
  };
  const address = (name: ListName, number = 1) =>
    `/import/${batch.id}?rows=${name}${number > 1 ? `&page=${number}` : ""}#rows`;
  return (
    <section className="section" id="rows">
      <h2>Row by row</h2>
      <nav className={styles.lists} aria-label="Rows by what becomes of them">
        {(Object.keys(LABELS) as ListName[]).map((name) => (
          <Link
            key={name}
            href={address(name)}
            scroll={false}
            aria-current={name === list.name ? "true" : undefined}
          >
            {LABELS[name]} ({formatNumber(counts[name])})
          </Link>
        ))}
        {batch.refusedCount > 0 && (
          <a href={`/import/${batch.id}/refused.csv`} download>
            Refused rows with their reasons, as CSV
          </a>
        )}
      </nav>
      {list.lines.length === 0 ? (
        <p className="soft">No row of this file.</p>
      ) : (
        <LedgerFrame label={`${LABELS[list.name]} rows`}>
          <RowTable page={page} />
        </LedgerFrame>
      )}
      {list.pageCount > 1 && (
        <nav className="actions" aria-label="Pages of rows">
          {list.page > 1 && (
            <Link className="button" href={address(list.name, list.page - 1)} scroll={false}>
              Earlier
            </Link>
          )}
          <span>
            Page {formatNumber(list.page)} of {formatNumber(list.pageCount)}
          </span>
          {list.page < list.pageCount && (
            <Link className="button" href={address(list.name, list.page + 1)} scroll={false}>
              Later
            </Link>
          )}
        </nav>
      )}
    </section>
  );
}

function RowTable({ page: { batch, list } }: { readonly page: ImportPage }) {
  if (list.name === "changed") {
    return (
      <table className="ledger">
        <thead>
          <tr>
            <th scope="col">Row</th>
            <th scope="col">Heater</th>
            <th scope="col">On record → in the file</th>
          </tr>
        </thead>
        <tbody>
          {list.lines.map((line) => (
            <tr key={line.rowNumber}>
              <th scope="row">{line.rowNumber}</th>
              <td>
                {line.heaterId ? (
                  <Link href={`/heaters/${line.heaterId}`} prefetch={false}>
                    {line.tag}
                  </Link>
                ) : (
                  line.tag
                )}
              </td>
              <td>
                <Changes line={line} />
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    );
  }
  const hasReasons = list.name === "refused";
  return (
    <table className="ledger">
      <caption>
        {batch.status === "staged"
          ? "Cells as they stand in the file, under what they are read as."
          : "Cells as they stood in the file, under what they were read as."}
      </caption>
      <thead>
        <tr>
          <th scope="col">Row</th>
          {hasReasons && <th scope="col">Why</th>}
          {list.headings.map((heading) => (
            <th key={heading} scope="col">
              {heading}
            </th>
          ))}
        </tr>
      </thead>
      <tbody>
        {list.lines.map((line) => (
          <tr key={line.rowNumber}>
            <th scope="row">{line.rowNumber}</th>
            {hasReasons && (
              <td className={styles.reason}>
                {line.reasons.map((reason) => (
                  <div key={reason} className="sentence">
                    {reason}
                  </div>
                ))}
              </td>
            )}
            {list.headings.map((heading, index) => (
              <td key={heading} className={styles.cell} title={line.cells[index]}>
                {line.cells[index]}
              </td>
            ))}
          </tr>
        ))}
      </tbody>
    </table>
  );
}

function Changes({ line }: { readonly line: ImportRowLine }) {
  return (
    <dl className={styles.change}>
      {line.changes.map(({ field, label, before, after }) => (
        <div key={field} style={{ display: "contents" }}>
          <dt>{label}</dt>
          <dd>
            <span className="soft">{before}</span> → {after}
          </dd>
        </div>
      ))}
    </dl>
  );
}
