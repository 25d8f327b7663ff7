import { formatNumber } from "@/app/_lib/format";
import type { FitDetail } from "@/lib/services/risk-fits";
import { BackTestSection } from "./back-test-section";
import { CurvesSection } from "./curves-section";
import { LearningSection } from "./learning-section";
import { PropertiesSection } from "./properties-section";

/** What a fit that is done has to show for itself: first whether to believe it, then what it learnt. */
export function FitSections({ detail: { fit, propertyNames } }: { readonly detail: FitDetail }) {
  const { report, backTest } = fit;
  if (!report) return null;
  const { failures, used, lateEntries, bracketedInstalls, bracketedFailures } = report.counts;
  return (
    <>
      <section className="section" aria-labelledby="believe">
        <h2 id="believe">Can I believe it?</h2>
        <BackTestSection fit={fit} backTest={backTest} />
      </section>
      <section className="section" aria-labelledby="curves">
        <h2 id="curves">The model beside the record</h2>
        <CurvesSection curves={report.curves} />
      </section>
      <section className="section" aria-labelledby="learnt">
        <h2 id="learnt">What it learnt from your own heaters</h2>
        <p>
          From {formatNumber(used)} heaters, in service and retired, of which{" "}
          {formatNumber(failures)} failed ({formatNumber(bracketedFailures)} within a bracket of
          days). {formatNumber(lateEntries)} were watched only from some age on, and{" "}
          {formatNumber(bracketedInstalls)} have an install day known to a bracket; both are allowed
          for. Planned swaps count as lives that were cut short, not as failures.
        </p>
        <LearningSection learning={report.learning} />
      </section>
      <section className="section" aria-labelledby="properties">
        <h2 id="properties">Properties that differ</h2>
        <PropertiesSection
          properties={report.properties}
          names={propertyNames}
          spread={report.propertyStandardDeviation}
        />
      </section>
    </>
  );
}
