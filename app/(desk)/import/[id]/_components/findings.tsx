import { LedgerFrame } from "@/app/_components/ledger-frame";
import { formatNumber } from "@/app/_lib/format";
import styles from "@/app/(desk)/import/import.module.css";
import { ASSUMPTION_SENTENCES, ASSUMPTIONS } from "@/lib/core/exchange/assumptions";
import type {
  ImportSummary,
  NameList,
  WaterFacts,
  WaterNote,
} from "@/lib/core/exchange/import-batch";
import { type ChangeField, changeLabel } from "@/lib/core/exchange/record-changes";
import { ANSWER_LABELS } from "@/lib/core/heaters/vocabulary";

/** What a check found beyond the counts: places, water, fields, what was taken for granted. */
export function Findings({
  summary,
  isPreview,
}: {
  readonly summary: ImportSummary;
  readonly isPreview: boolean;
}) {
  return (
    <div className="columns">
      <Places summary={summary} isPreview={isPreview} />
      <Granted summary={summary} />
      <ChangedFields summary={summary} />
      <Waters waters={summary.waters} isPreview={isPreview} />
    </div>
  );
}

function Places({
  summary,
  isPreview,
}: {
  readonly summary: ImportSummary;
  readonly isPreview: boolean;
}) {
  const { newProperties, newBuildings, newHomes, changedHomes, careDays } = summary;
  const lists: readonly (readonly [one: string, many: string, list: NameList])[] = [
    ["new property", "new properties", newProperties],
    ["new building", "new buildings", newBuildings],
    ["new home", "new homes", newHomes],
  ];
  const made = lists.filter(([, , list]) => list.count > 0);
  return (
    <section className="section">
      <h2>{isPreview ? "Places that would be made" : "Places that were made"}</h2>
      {made.length === 0 && <p className="soft">None: every place is on record already.</p>}
      {made.map(([one, many, list]) => (
        <details key={one} open={list.count <= 5}>
          <summary>
            {formatNumber(list.count)} {list.count === 1 ? one : many}
          </summary>
          <ul className={styles.names}>
            {list.names.map((name) => (
              <li key={name}>{name}</li>
            ))}
            {list.count > list.names.length && (
              <li className="soft">and {formatNumber(list.count - list.names.length)} more</li>
            )}
          </ul>
        </details>
      ))}
      {changedHomes > 0 && (
        <p>
          {formatNumber(changedHomes)} {changedHomes === 1 ? "home" : "homes"} on record: floor,
          riser, rooms or occupants.
        </p>
      )}
      {careDays > 0 && (
        <p>
          {formatNumber(careDays)} {careDays === 1 ? "day" : "days"} of care for the history.
        </p>
      )}
    </section>
  );
}

function Granted({ summary }: { readonly summary: ImportSummary }) {
  const lines = ASSUMPTIONS.flatMap((assumption) => {
    const count = summary.assumptions[assumption] ?? 0;
    return count > 0 ? [{ assumption, count }] : [];
  });
  if (lines.length === 0 && summary.passedOver === 0) return null;
  return (
    <section className="section">
      <h2>Taken for granted</h2>
      <table className="ledger">
        <thead>
          <tr>
            <th scope="col" className="number">
              Rows
            </th>
            <th scope="col">What was assumed</th>
          </tr>
        </thead>
        <tbody>
          {lines.map(({ assumption, count }) => (
            <tr key={assumption}>
              <td className="number">{formatNumber(count)}</td>
              <td>{ASSUMPTION_SENTENCES[assumption]}</td>
            </tr>
          ))}
          {summary.passedOver > 0 && (
            <tr>
              <td className="number">{formatNumber(summary.passedOver)}</td>
              <td>Empty, or the headings once more: passed over.</td>
            </tr>
          )}
        </tbody>
      </table>
    </section>
  );
}

function ChangedFields({ summary }: { readonly summary: ImportSummary }) {
  const fields = (Object.entries(summary.changedFields) as [ChangeField, number][]).sort(
    (a, b) => b[1] - a[1],
  );
  if (fields.length === 0) return null;
  return (
    <section className="section">
      <h2>Fields that change</h2>
      <table className="ledger">
        <thead>
          <tr>
            <th scope="col" className="number">
              Rows
            </th>
            <th scope="col">Field</th>
          </tr>
        </thead>
        <tbody>
          {fields.map(([field, count]) => (
            <tr key={field}>
              <td className="number">{formatNumber(count)}</td>
              <td>{changeLabel(field)}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  );
}

function Waters({
  waters,
  isPreview,
}: {
  readonly waters: readonly WaterNote[];
  readonly isPreview: boolean;
}) {
  if (waters.length === 0) return null;
  return (
    <section className="section">
      <h2>{isPreview ? "Water tests that would be added" : "Water tests that were added"}</h2>
      <LedgerFrame label="Water tests">
        <table className="ledger">
          <caption>One for each property, of the day the file is brought in.</caption>
          <thead>
            <tr>
              <th scope="col">Property</th>
              <th scope="col">On record</th>
              <th scope="col">From the file</th>
            </tr>
          </thead>
          <tbody>
            {waters.map(({ propertyId, property, before, after, spread }) => (
              <tr key={propertyId}>
                <th scope="row">{property}</th>
                <td className="soft">{before ? waterWords(before) : "none"}</td>
                <td>
                  {waterWords(after)}
                  {spread && (
                    <div className="small soft">
                      Its rows differ, {formatNumber(spread[0])} to {formatNumber(spread[1])} mg/L:
                      the middle one is kept.
                    </div>
                  )}
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      </LedgerFrame>
    </section>
  );
}

function waterWords({ hardnessMgPerLitre, softened }: WaterFacts): string {
  const hardness =
    hardnessMgPerLitre === null
      ? "hardness not known"
      : `${formatNumber(hardnessMgPerLitre)} mg/L as CaCO₃`;
  return softened === "unknown"
    ? hardness
    : `${hardness}, softened: ${ANSWER_LABELS[softened].toLowerCase()}`;
}
