import type { Metadata } from "next";
import Link from "next/link";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import { PageHeading } from "@/app/_components/page-heading";
import { formatDay, formatNumber } from "@/app/_lib/format";
import { requireViewer } from "@/app/_lib/viewer";
import { type ImportBatchLine, readImportList } from "@/lib/services/bring-in-pages";
import { TABLE_LIMITS } from "@/lib/services/import/table-limits";
import { FileButton } from "./_components/action-button";
import { BatchStatus } from "./_components/batch-status";
import { UploadForm } from "./_components/upload-form";
import styles from "./import.module.css";

export const metadata: Metadata = { title: "Bring in" };

export default async function ImportPage() {
  const { batches, mayImport } = await readImportList(await requireViewer());
  return (
    <>
      <PageHeading title="Bring in" question="Can I use my spreadsheet?">
        {/* Files, not screens: nothing to be fetched beforehand. */}
        <a className="button" href="/import/sample.csv" download>
          Invented sample
        </a>
        <a className="button" href="/import/template.csv" download>
          Empty template
        </a>
      </PageHeading>
      {mayImport ? (
        <UploadForm mostBytes={TABLE_LIMITS.fileBytes} />
      ) : (
        <p className="notice">
          An owner or portfolio manager can bring files in. You can look at those that came.
        </p>
      )}
      {batches.length === 0 ? (
        <FirstSteps mayImport={mayImport} />
      ) : (
        <Batches batches={batches} mayImport={mayImport} />
      )}
    </>
  );
}

function FirstSteps({ mayImport }: { readonly mayImport: boolean }) {
  return (
    <div className="empty">
      <p>No file was brought in yet.{mayImport && " This is how it goes:"}</p>
      {mayImport && (
        <ol className={styles.guide}>
          <li>Send the list you keep now, as it is: your own headings, gaps and notes included.</li>
          <li>Look through what its columns were taken for, and correct what is wrong.</li>
          <li>See what would be added and changed, and which rows cannot be read, and why.</li>
          <li>Bring it in. A whole file can be undone afterwards.</li>
        </ol>
      )}
      {mayImport && (
        <p>
          No list at hand? The invented sample shows what can be read; the empty template has every
          heading.
        </p>
      )}
    </div>
  );
}

function Batches({
  batches,
  mayImport,
}: {
  readonly batches: readonly ImportBatchLine[];
  readonly mayImport: boolean;
}) {
  return (
    <section className="section">
      <h2>Files so far</h2>
      <LedgerFrame label="Files brought in">
        <table className="ledger">
          <thead>
            <tr>
              <th scope="col">File</th>
              <th scope="col">Standing</th>
              <th scope="col" className="number">
                Rows
              </th>
              <th scope="col" className="number">
                Added
              </th>
              <th scope="col" className="number">
                Changed
              </th>
              <th scope="col" className="number">
                Unchanged
              </th>
              <th scope="col" className="number">
                Refused
              </th>
              {mayImport && <th scope="col">Do</th>}
            </tr>
          </thead>
          <tbody>
            {batches.map((batch) => (
              <BatchRow key={batch.id} batch={batch} mayImport={mayImport} />
            ))}
          </tbody>
        </table>
      </LedgerFrame>
    </section>
  );
}

function BatchRow({
  batch,
  mayImport,
}: {
  readonly batch: ImportBatchLine;
  readonly mayImport: boolean;
}) {
  const isChecked = batch.fingerprint !== null;
  const count = (value: number) => (isChecked ? formatNumber(value) : "–");
  return (
    <tr>
      <th scope="row">
        <div className={styles.file}>
          <Link href={`/import/${batch.id}`}>{batch.fileName}</Link>
        </div>
        <div className="small soft">
          {formatDay(batch.createdAt.toISOString().slice(0, 10))}
          {batch.createdByName && <>, {batch.createdByName}</>}
        </div>
      </th>
      <td>
        <BatchStatus batch={batch} />
      </td>
      <td className="number">{formatNumber(batch.rowCount)}</td>
      <td className="number">{count(batch.addedCount)}</td>
      <td className="number">{count(batch.changedCount)}</td>
      <td className="number">{count(batch.unchangedCount)}</td>
      <td className="number">{count(batch.refusedCount)}</td>
      {mayImport && (
        <td>
          <div className="actions">
            {batch.status === "staged" && batch.work === null && (
              <Link href={`/import/${batch.id}`}>Go on</Link>
            )}
            {batch.status === "committed" && batch.work === null && (
              <FileButton batchId={batch.id} act="undo" label="Undo" />
            )}
          </div>
        </td>
      )}
    </tr>
  );
}
