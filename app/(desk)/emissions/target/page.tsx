import type { Metadata } from "next";
import { formatShare } from "@/app/_lib/format";
import { requireViewer } from "@/app/_lib/viewer";
import { outlookWords } from "@/app/(desk)/emissions/_lib/words";
import { COVERAGE_LABELS } from "@/lib/core/emissions/target";
import { readTerms } from "@/lib/services/emissions-records";
import { TermsForm } from "./terms-form";

export const metadata: Metadata = { title: "Base year and target" };

export default async function TargetPage() {
  const { terms, version, mayEdit } = await readTerms(await requireViewer());
  return (
    <section className="section">
      <h2>Base year, target and the rules of the account</h2>
      <p>
        They hold for the accounts computed from now on; an account that is kept keeps the rules it
        was made with.
      </p>
      {mayEdit ? (
        <TermsForm terms={terms} version={version} />
      ) : (
        <dl className="facts">
          <dt>Counts</dt>
          <dd>{COVERAGE_LABELS[terms.coverage]}</dd>
          <dt>Base year</dt>
          <dd>{terms.baseYear ?? "five years before the account"}</dd>
          <dt>Recalculated from</dt>
          <dd>{formatShare(terms.recalculationThreshold)} of structural change on</dd>
          <dt>Target</dt>
          <dd>
            {terms.target
              .map(({ year, cutShare }) => `${year}: ${formatShare(cutShare, 0)}`)
              .join(", ") || "none"}
          </dd>
          <dt>Grid ahead</dt>
          <dd>{outlookWords(terms.gridOutlook)}</dd>
          <dt>Warming potentials</dt>
          <dd>{terms.gwpSet}</dd>
        </dl>
      )}
    </section>
  );
}
