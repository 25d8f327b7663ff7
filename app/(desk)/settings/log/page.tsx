import type { Metadata } from "next";
import Link from "next/link";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import { formatInstant, formatNumber } from "@/app/_lib/format";
import { requireViewer } from "@/app/_lib/viewer";
import styles from "@/app/(desk)/settings/_components/settings.module.css";
import {
  type Change,
  LOG_PAGE_SIZE,
  type LogView,
  logQuerySchema,
  readLog,
} from "@/lib/services/settings-log";
import { actionInWords, entityInWords, fieldInWords, valueInWords } from "./words";

export const metadata: Metadata = { title: "Log of changes" };

/** Fields of one change that are shown before the rest is folded away. */
const FIELDS_SHOWN = 4;

export default async function LogPage({
  searchParams,
}: {
  readonly searchParams: Promise<Readonly<Record<string, string | string[] | undefined>>>;
}) {
  const viewer = await requireViewer();
  const search = await searchParams;
  const query = logQuerySchema.parse({
    entity: search.entity || null,
    page: search.page,
    check: search.check ?? null,
  });
  const { changes, entities, total, seals } = await readLog(viewer, query);
  const pages = Math.max(1, Math.ceil(total / LOG_PAGE_SIZE));
  const address = (page: number) => {
    const next = new URLSearchParams();
    if (query.entity) next.set("entity", query.entity);
    if (page > 1) next.set("page", String(page));
    return `/settings/log${next.size > 0 ? `?${next}` : ""}`;
  };
  return (
    <section className="section" aria-labelledby="log">
      <h2 id="log">Log of changes</h2>
      <form className="filter" method="get" aria-label="Filter">
        <div className="field">
          <label htmlFor="entity">Changes of</label>
          <select id="entity" name="entity" defaultValue={query.entity ?? ""}>
            <option value="">everything</option>
            {entities.map(({ entity, changes: count }) => (
              <option key={entity} value={entity}>
                {entityInWords(entity)} ({formatNumber(count)})
              </option>
            ))}
          </select>
        </div>
        <button className="button" type="submit">
          Show
        </button>
      </form>
      <p className="actions">
        <Link href="/settings/log?check=seals" prefetch={false}>
          Check that nothing was altered
        </Link>
        <a href="/settings/log/file?format=csv">Download as CSV</a>
        <a href="/settings/log/file?format=jsonl">Download as JSON lines</a>
      </p>
      {seals && <Seals seals={seals} />}
      {changes.length === 0 ? (
        <p className="soft">
          {query.page > 1
            ? "The log ends before this page."
            : "Nothing has been changed yet. Every change from now on is written here and stays."}
        </p>
      ) : (
        <LedgerFrame label="Table of changes">
          <table className="ledger">
            <thead>
              <tr>
                <th scope="col">When</th>
                <th scope="col">Who</th>
                <th scope="col">What</th>
                <th scope="col">From and to</th>
              </tr>
            </thead>
            <tbody>
              {changes.map((change) => (
                <tr key={change.id}>
                  <td>{formatInstant(change.at)}</td>
                  <td>{change.personName ?? "the program"}</td>
                  <th scope="row">
                    {actionInWords(change.action)}
                    {change.subject && <span className={styles.meaning}>{change.subject}</span>}
                  </th>
                  <td>
                    <Fields
                      fields={change.fields.filter(
                        ({ after }) => after === null || after !== change.subject,
                      )}
                    />
                  </td>
                </tr>
              ))}
            </tbody>
          </table>
        </LedgerFrame>
      )}
      {pages > 1 && (
        <nav className="actions" aria-label="Pages of the log">
          {query.page > 1 && <Link href={address(query.page - 1)}>Later</Link>}
          <span className="soft">
            Page {formatNumber(query.page)} of {formatNumber(pages)}
          </span>
          {query.page < pages && <Link href={address(query.page + 1)}>Earlier</Link>}
        </nav>
      )}
    </section>
  );
}

/** What computing the seals again found. */
function Seals({ seals }: { readonly seals: NonNullable<LogView["seals"]> }) {
  const { sealed, brokenAt, unsealed, lastHash, lastAt } = seals;
  if (brokenAt !== null || unsealed > 0) {
    return (
      <p className="notice" role="alert">
        The log is not as it was written:{" "}
        {brokenAt !== null && <>entry {formatNumber(brokenAt)} was changed or removed. </>}
        {unsealed > 0 && <>{formatNumber(unsealed)} entries were slipped in without a seal. </>}
        Somebody changed the database itself. Compare with a backup from before, and find out who
        can sign in to the database.
      </p>
    );
  }
  if (lastHash === null) return <p role="status">Nothing is in the log yet.</p>;
  return (
    <p role="status">
      Log unbroken: all {formatNumber(sealed)} entries are as they were written
      {lastAt && <>, up to {formatInstant(lastAt)}</>}. Last seal{" "}
      <code>{lastHash.slice(0, 16)}</code>. Keep a download elsewhere now and then: its last seal
      must be found here again.
    </p>
  );
}

function Fields({ fields }: { readonly fields: Change["fields"] }) {
  if (fields.length === 0) return <span className="soft">no details</span>;
  const shown = fields.slice(0, FIELDS_SHOWN);
  const rest = fields.slice(FIELDS_SHOWN);
  return (
    <>
      <FieldList fields={shown} />
      {rest.length > 0 && (
        <details>
          <summary>{rest.length} more</summary>
          <FieldList fields={rest} />
        </details>
      )}
    </>
  );
}

function FieldList({ fields }: { readonly fields: Change["fields"] }) {
  return (
    <dl className={styles.fields}>
      {fields.flatMap(({ field, before, after }) => [
        <dt key={`${field}-name`}>{fieldInWords(field)}</dt>,
        <dd key={`${field}-change`}>
          {fromTo(
            before === null ? null : valueInWords(field, before),
            after === null ? null : valueInWords(field, after),
          )}
        </dd>,
      ])}
    </dl>
  );
}

/** `4 → 5`; what was not there before stands alone, what is gone goes to none. */
function fromTo(before: string | null, after: string | null): string {
  if (before === null) return after ?? "";
  return `${before} → ${after ?? "none"}`;
}
