import type { Metadata } from "next";
import Link from "next/link";
import { notFound } from "next/navigation";
import { Caution } from "@/app/_components/caution";
import { Figure, Figures } from "@/app/_components/figure";
import { PageHeading } from "@/app/_components/page-heading";
import { formatDay, formatNumber } from "@/app/_lib/format";
import { today } from "@/app/_lib/today";
import { requireViewer } from "@/app/_lib/viewer";
import { FileButton } from "@/app/(desk)/import/_components/action-button";
import { BatchStatus } from "@/app/(desk)/import/_components/batch-status";
import { Steps } from "@/app/(desk)/import/_components/steps";
import { CAUTIONS } from "@/lib/core/heaters/cautions";
import { yearOf } from "@/lib/core/shared/calendar-day";
import {
  type ImportBatch,
  type ImportPage,
  ROW_LISTS,
  readImportPage,
} from "@/lib/services/bring-in-pages";
import { CommitForm } from "./_components/commit-form";
import { Findings } from "./_components/findings";
import { ImportWatch } from "./_components/import-watch";
import { MatchForm } from "./_components/match-form";
import { RowList } from "./_components/row-list";
import { UndoNote } from "./_components/undo-note";

export const metadata: Metadata = { title: "Bring in" };

type Address = {
  readonly params: Promise<{ readonly id: string }>;
  readonly searchParams: Promise<Readonly<Record<string, string | string[] | undefined>>>;
};

export default async function ImportFilePage({ params, searchParams }: Address) {
  const viewer = await requireViewer();
  const { rows, page: pageText, step } = await searchParams;
  const page = await readImportPage(viewer, (await params).id, {
    list: ROW_LISTS.find((name) => name === rows) ?? null,
    page: Number(pageText) || 1,
  });
  if (!page) notFound();
  const { batch, mayImport } = page;
  const isMatching =
    batch.status === "staged" && (batch.fingerprint === null || step === "columns");

  return (
    <>
      <PageHeading title={batch.fileName} question={<FileFacts batch={batch} />}>
        <Link className="button" href="/import">
          All files
        </Link>
      </PageHeading>
      {(batch.status === "staged" || batch.status === "committed") && (
        <Steps current={batch.status === "staged" ? (isMatching ? 0 : 1) : 2} />
      )}
      {batch.message && batch.work === null && (
        <p className="notice notice--attention" role="alert">
          {batch.message}
        </p>
      )}
      {batch.work !== null ? (
        <ImportWatch
          batchId={batch.id}
          start={{
            work: batch.work,
            progress: batch.progress,
            silentSeconds: batch.silentSeconds,
          }}
          mayImport={mayImport}
        />
      ) : isMatching ? (
        <Matching page={page} />
      ) : batch.status === "staged" ? (
        <Preview page={page} />
      ) : (
        <Result page={page} mayImport={mayImport} />
      )}
    </>
  );
}

function FileFacts({ batch }: { readonly batch: ImportBatch }) {
  const { file } = batch;
  return (
    <>
      <BatchStatus batch={batch} /> · {formatNumber(batch.rowCount)} rows,{" "}
      {formatNumber(batch.columns.length)} columns, {formatBytes(file.byteCount)}
      {file.sheetName !== null && <> · sheet “{file.sheetName}”</>}
      {file.headerRowNumber > 1 && <> · headings in row {file.headerRowNumber}</>} ·{" "}
      {formatDay(batch.createdAt.toISOString().slice(0, 10))}
    </>
  );
}

function formatBytes(bytes: number): string {
  return bytes < 1_048_576
    ? `${formatNumber(Math.max(1, bytes / 1024))} kB`
    : `${formatNumber(bytes / 1_048_576, 1)} MB`;
}

function Matching({ page: { batch, mayImport } }: { readonly page: ImportPage }) {
  if (!mayImport) {
    return (
      <p className="notice">The columns of this file are still to be matched by who brought it.</p>
    );
  }
  const { sheetNames, sheetName } = batch.file;
  const others = sheetNames.filter((name) => name !== sheetName);
  return (
    <>
      {others.length > 0 && (
        <p className="notice">
          The sheet “{sheetName}” was read. The workbook also has{" "}
          {others.map((name) => `“${name}”`).join(", ")}: to read another, bring the file again and
          name it.
        </p>
      )}
      <MatchForm
        batchId={batch.id}
        columns={batch.columns}
        mapping={batch.mapping}
        todayYear={yearOf(today())}
        uses1904={batch.file.uses1904}
      />
      <div className="actions">
        <FileButton batchId={batch.id} act="discard" />
      </div>
    </>
  );
}

function Preview({ page }: { readonly page: ImportPage }) {
  const { batch, mayImport } = page;
  const { summary } = batch;
  if (!summary) return null;
  const hasAnything = batch.addedCount + batch.changedCount > 0 || summary.waters.length > 0;
  return (
    <>
      <Counts batch={batch} />
      {batch.mapping.matches.some((match) => match?.field === "setpoint") && (
        <Caution>
          Bringing in a setpoint records it and changes no thermostat. {CAUTIONS.setpoint}
        </Caution>
      )}
      {mayImport && (
        <section className="section">
          <h2>{hasAnything ? "Bring it in" : "Nothing would change"}</h2>
          {hasAnything ? (
            <CommitForm
              batchId={batch.id}
              label={commitLabel(batch)}
              refusedCount={batch.refusedCount}
              retired={summary.retired}
              today={today()}
            />
          ) : (
            <p>
              {batch.refusedCount > 0
                ? "Every row that is not on record as it stands is refused: look at the reasons below, or at what the columns were taken for."
                : "All that this file says is on record already."}
            </p>
          )}
          <div className="actions">
            <Link className="button" href={`/import/${batch.id}?step=columns`}>
              Match the columns anew
            </Link>
            <FileButton batchId={batch.id} act="discard" />
          </div>
        </section>
      )}
      <Findings summary={summary} isPreview />
      <RowList page={page} />
    </>
  );
}

function commitLabel({ addedCount, changedCount }: ImportBatch): string {
  const heaters = (count: number) => `${formatNumber(count)} ${count === 1 ? "heater" : "heaters"}`;
  if (addedCount > 0 && changedCount > 0) {
    return `Add ${heaters(addedCount)} and change ${formatNumber(changedCount)}`;
  }
  if (addedCount > 0) return `Add ${heaters(addedCount)}`;
  return changedCount > 0 ? `Change ${heaters(changedCount)}` : "Add the water tests";
}

function Result({ page, mayImport }: { readonly page: ImportPage; readonly mayImport: boolean }) {
  const { batch } = page;
  if (batch.status === "discarded") {
    return (
      <p className="notice">
        This file was put aside: its rows were deleted, and nothing of it came into the record.
      </p>
    );
  }
  const isIn = batch.status === "committed";
  const day = (isIn ? batch.committedAt : batch.undoneAt)?.toISOString().slice(0, 10);
  return (
    <>
      <div className={isIn ? "notice notice--good" : "notice"} role="status">
        <p>
          {isIn ? "Brought in" : "Undone"}
          {day && <> on {formatDay(day)}</>}.{" "}
          {isIn
            ? "The chances of failure are being worked out anew."
            : "The rows are kept here; the log keeps what was done."}
        </p>
        {isIn && (
          <div className="actions">
            <Link className="button" href="/heaters">
              See the heaters
            </Link>
            {mayImport && <FileButton batchId={batch.id} act="undo" />}
          </div>
        )}
      </div>
      {batch.summary?.undone && <UndoNote undone={batch.summary.undone} />}
      <Counts batch={batch} />
      {batch.summary && <Findings summary={batch.summary} isPreview={false} />}
      <RowList page={page} />
    </>
  );
}

function Counts({ batch }: { readonly batch: ImportBatch }) {
  return (
    <Figures>
      <Figure
        label="Heaters added"
        value={formatNumber(batch.addedCount)}
        sourceLabel="What counts"
      >
        Rows whose tag is not on record. A tag counts as the same in small and capital letters.
      </Figure>
      <Figure
        label="Heaters changed"
        value={formatNumber(batch.changedCount)}
        sourceLabel="What counts"
      >
        Rows whose tag is on record and which say something else than the record. An empty cell
        changes nothing.
      </Figure>
      <Figure
        label="Unchanged"
        value={formatNumber(batch.unchangedCount)}
        sourceLabel="What counts"
      >
        Rows that say nothing that is not on record already.
      </Figure>
      <Figure
        label="Rows refused"
        value={formatNumber(batch.refusedCount)}
        sourceLabel="What counts"
      >
        Rows that cannot be read or contradict the record; each has its reasons below. They keep no
        other row out.
      </Figure>
    </Figures>
  );
}
