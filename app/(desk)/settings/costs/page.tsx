import type { Metadata } from "next";
import Link from "next/link";
import { Fragment } from "react";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import { formatNumber } from "@/app/_lib/format";
import { requireViewer } from "@/app/_lib/viewer";
import { ActButton } from "@/app/(desk)/settings/_components/act-button";
import styles from "@/app/(desk)/settings/_components/settings.module.css";
import { formatCents } from "@/lib/core/shared/money";
import type { Evidence } from "@/lib/core/shared/sourced";
import { toEntry } from "@/lib/services/settings-consequences";
import { type CostLine, readCosts } from "@/lib/services/settings-costs";
import { resetToStandard } from "./actions";
import { CostForm } from "./cost-form";

export const metadata: Metadata = { title: "Costs of a failure" };

const STANDING: Readonly<Record<Evidence, string>> = {
  published: "published",
  quoted: "quoted by others",
  trade: "common practice",
  memory: "from memory",
  assumed: "assumed",
  entered: "your own",
};

export default async function CostsPage({
  searchParams,
}: {
  readonly searchParams: Promise<Readonly<Record<string, string | string[] | undefined>>>;
}) {
  const viewer = await requireViewer();
  const { mayEdit, lines } = await readCosts(viewer);
  const { edit } = await searchParams;
  const own = lines.filter(({ inForce }) => inForce.evidence === "entered").length;
  return (
    <section className="section" aria-labelledby="costs">
      <h2 id="costs">What a failure costs beyond a planned swap</h2>
      <p>
        Expected loss is the chance of failing in 12 months times: emergency swap less planned swap,
        plus water damage by place, plus days without hot water × homes × cost of a day. The
        ranking, plans and upkeep use these values. {own} of {lines.length} are your own; the others
        stand until you enter yours.
      </p>
      <LedgerFrame label="Table of costs">
        <table className={`ledger ${styles.explained}`}>
          <thead>
            <tr>
              <th scope="col">Assumption</th>
              <th scope="col" className="number">
                Value
              </th>
              <th scope="col">Unit</th>
              <th scope="col">Standing</th>
              <th scope="col">Source</th>
              {mayEdit && <th scope="col">Change</th>}
            </tr>
          </thead>
          <tbody>
            {lines.map((line) => (
              <Fragment key={line.key}>
                <CostRow line={line} mayEdit={mayEdit} isOpen={edit === line.key} />
                {mayEdit && edit === line.key && (
                  <tr className={styles.edit}>
                    <td colSpan={6}>
                      <CostForm
                        costKey={line.key}
                        unit={line.unit}
                        entry={toEntry(line.kind, line.inForce.value)}
                        source={line.inForce.evidence === "entered" ? line.inForce.source : ""}
                      />
                    </td>
                  </tr>
                )}
              </Fragment>
            ))}
          </tbody>
        </table>
      </LedgerFrame>
    </section>
  );
}

function CostRow({
  line,
  mayEdit,
  isOpen,
}: {
  readonly line: CostLine;
  readonly mayEdit: boolean;
  readonly isOpen: boolean;
}) {
  const { inForce, standard } = line;
  const isOwn = inForce.evidence === "entered";
  return (
    <tr>
      <th scope="row">
        {line.label}
        <span className={styles.meaning}>{line.meaning}</span>
      </th>
      <td className="number">{shown(line, inForce.value)}</td>
      <td>{line.unit}</td>
      <td>
        {isOwn ? (
          <span className="mark mark--good">{STANDING.entered}</span>
        ) : (
          STANDING[inForce.evidence]
        )}
      </td>
      <td>
        {inForce.source}
        {isOwn && (
          <span className={styles.meaning}>
            Without your entry: {shown(line, standard.value)} ({STANDING[standard.evidence]})
          </span>
        )}
      </td>
      {mayEdit && (
        <td>
          <div className={styles.rowActions}>
            {!isOpen && (
              <Link
                className="button button--quiet"
                href={`/settings/costs?edit=${line.key}`}
                scroll={false}
              >
                Edit<span className="visually-hidden"> {line.label}</span>
              </Link>
            )}
            {isOwn && <ActButton act={resetToStandard.bind(null, line.key)} label="Reset" />}
          </div>
        </td>
      )}
    </tr>
  );
}

function shown({ kind }: CostLine, value: number): string {
  switch (kind) {
    case "dollars":
      return formatCents(value, { whole: value % 100 === 0 });
    case "percent":
      return `${formatNumber(value * 100, Number.isInteger(value * 100) ? 0 : 1)} %`;
    case "days":
      return formatNumber(value, Number.isInteger(value) ? 0 : 1);
  }
}
