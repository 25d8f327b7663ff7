import { Figure, Figures } from "@/app/_components/figure";
import { formatKilograms, formatNumber, formatShare } from "@/app/_lib/format";
import type { AccountSummary } from "@/lib/core/emissions/account-summary";
import { locationTotal } from "@/lib/core/emissions/annual-emissions";
import { COVERAGE_LABELS, coveredKg } from "@/lib/core/emissions/target";

/** The account's headline: each scope by its rule, the change since the base year, the target. */
export function AccountFigures({ summary }: { readonly summary: AccountSummary }) {
  const { kgCo2e, year, base, apart } = summary;
  const together = locationTotal(kgCo2e);
  const covered = coveredKg(kgCo2e, summary.coverage);
  const cut = base.comparedKg > 0 ? 1 - covered / base.comparedKg : null;
  const target = summary.target.find((point) => point.year === year);
  return (
    <Figures>
      <Figure
        label={`Scope 1, ${year}: burnt on the owner’s meters`}
        value={formatKilograms(kgCo2e.scope1)}
      >
        <p>
          Fuel through meters that the owner holds, times the combustion factors below, and
          refrigerant lost. CO2-equivalent with {summary.gwpSet} potentials over 100 years.
        </p>
      </Figure>
      <Figure label="Scope 2, location-based" value={formatKilograms(kgCo2e.scope2Location)}>
        <p>
          Electricity through meters that the owner holds, times the average of each property’s grid
          region.
        </p>
      </Figure>
      <Figure label="Scope 2, market-based" value={formatKilograms(kgCo2e.scope2Market)}>
        <Market summary={summary} />
      </Figure>
      <Figure
        label="Scope 3, category 13: residents’ meters"
        value={formatKilograms(kgCo2e.scope3)}
      >
        <p>Energy that residents buy themselves, location-based.</p>
      </Figure>
      <Figure label="Together, location-based" value={formatKilograms(together)}>
        <p>
          Scopes 1, 2 (location-based) and 3. This sum does not move when a meter changes hands.
          Metered: {formatKilograms(summary.kgCo2eByBasis.metered)}, modelled and calibrated to
          meters: {formatKilograms(summary.kgCo2eByBasis.calibrated)}, modelled:{" "}
          {formatKilograms(summary.kgCo2eByBasis.modelled)}.
        </p>
      </Figure>
      {cut !== null && (
        <Figure
          label={`${cut >= 0 ? "Cut" : "Rise"} since ${summary.baseYear}`}
          value={formatShare(Math.abs(cut))}
        >
          <p>
            {COVERAGE_LABELS[summary.coverage]}: {formatKilograms(base.comparedKg)} in the base year
            {base.decision?.recalculate && ", recalculated for structural changes"}
            {base.adoptedKg === null && " by today’s record (none has been adopted)"},{" "}
            {formatKilograms(covered)} in {year}.
          </p>
        </Figure>
      )}
      {target && (
        <Figure
          label={covered <= target.kgCo2e ? "Below the target by" : "Above the target by"}
          value={
            <span className={covered <= target.kgCo2e ? undefined : "mark mark--attention"}>
              {formatKilograms(Math.abs(target.kgCo2e - covered))}
            </span>
          }
        >
          <p>
            The target line allows {formatKilograms(target.kgCo2e)} in {year}.
          </p>
        </Figure>
      )}
      <Figure label="Apart: avoided by swaps" value={formatKilograms(apart.avoidedKg)}>
        <p>
          What {year} would emit more with the heaters of {summary.baseYear}. A comparison, not part
          of the inventory, and not to be subtracted from it.
          {apart.upstreamMethane &&
            ` Also apart: methane lost before the gas meters at ${formatShare(apart.upstreamMethane.leakShare)}, ${formatKilograms(apart.upstreamMethane.kgCo2e)}.`}
        </p>
      </Figure>
    </Figures>
  );
}

function Market({ summary }: { readonly summary: AccountSummary }) {
  const { allocation } = summary;
  if (!allocation || allocation.used.length + allocation.refused.length === 0) {
    return (
      <p>
        No contracts or certificates are on record for {summary.year}: the residual mix stands, or
        the grid average where none is on record. The two answers of scope 2 are never added.
      </p>
    );
  }
  return (
    <>
      <ul>
        {allocation.used.map(({ instrument, kwh }) => (
          <li key={instrument.id}>
            {instrument.id}: {formatNumber(kwh)} kWh at {instrument.kgCo2ePerKwh} kg/kWh
          </li>
        ))}
        {allocation.refused.map(({ instrument, reasons }) => (
          <li key={instrument.id}>
            {instrument.id} was not used: {reasons.join("; ")}
          </li>
        ))}
        {allocation.surplus.map(({ instrument, kwh }) => (
          <li key={`${instrument.id} surplus`}>
            {instrument.id}: {formatNumber(kwh)} kWh beyond the use are not counted
          </li>
        ))}
      </ul>
      <p>
        {formatNumber(allocation.uncoveredKwh)} kWh without a contract. The two answers of scope 2
        are never added.
      </p>
    </>
  );
}
