import { Figure, Figures } from "@/app/_components/figure";
import { formatMoney, formatNumber, formatShare } from "@/app/_lib/format";
import { formatBracket } from "@/app/(desk)/heaters/_lib/install-text";
import { INSTALL_EVIDENCE_LABELS } from "@/lib/core/heaters/vocabulary";
import { yearsBetween } from "@/lib/core/shared/calendar-day";
import type { HeaterPage } from "@/lib/services/heater-page";
import { massText } from "./words";

/** The heater in a line of numbers, each with what it is made of. */
export function HeaterFigures({ page }: { readonly page: HeaterPage }) {
  const { entry, risk, retirement, year } = page;
  const { install } = entry;
  if (!risk) {
    if (!retirement) return null;
    const reached = yearsBetween(install.earliest, retirement.latest);
    const atLeast = Math.max(0, yearsBetween(install.latest, retirement.earliest));
    return (
      <Figures>
        <Figure
          label="Age it reached"
          value={`${formatNumber(atLeast === reached ? reached : (atLeast + reached) / 2, 1)} years`}
        >
          {atLeast === reached
            ? "From its install day to its last."
            : `Between ${formatNumber(atLeast, 1)} and ${formatNumber(reached, 1)} years, from the brackets of both days.`}
        </Figure>
      </Figures>
    );
  }
  const { forecast, explanation, loss, band } = risk;
  const mark = forecast.ageIsEstimated ? "≈ " : "";
  return (
    <Figures>
      <Figure label="Chance of failing in 12 months" value={formatShare(explanation.probability)}>
        <p>{explanation.baselineSentence} What sets this one apart is listed below.</p>
        {band && (
          <p>
            In doubt between {formatShare(band.lower)} and {formatShare(band.upper)} (90 % band of
            the model, {risk.method}).
          </p>
        )}
      </Figure>
      <Figure label="Expected loss a year" value={formatMoney(loss.expected.totalCents)}>
        <p>
          Chance × what a failure would cost beyond a planned swap,{" "}
          {formatMoney(loss.ifItFails.totalCents)}: emergency premium{" "}
          {formatMoney(loss.ifItFails.emergencyPremiumCents)}, damage{" "}
          {formatMoney(loss.ifItFails.damageCents)}, days without hot water{" "}
          {formatMoney(loss.ifItFails.noHotWaterCents)}.
        </p>
      </Figure>
      <Figure
        label="Age"
        value={`${mark}${formatNumber(forecast.ageYears, forecast.ageIsEstimated ? 0 : 1)} years`}
      >
        Installed {formatBracket(install.earliest, install.latest)} (
        {INSTALL_EVIDENCE_LABELS[install.evidence].toLowerCase()})
        {forecast.ageIsEstimated
          ? ". The age is what to expect of a heater of this bracket that still stands."
          : "."}
      </Figure>
      <Figure
        label="Half of such heaters fail within"
        value={`${formatNumber(forecast.medianRemainingYears, 1)} years`}
      >
        Median remaining life, given that it stands today.{" "}
        {risk.horizonsYears
          .map(
            (years, index) =>
              `${formatShare(forecast.failureProbabilities[index] ?? 0, 0)} within ${years} ${years === 1 ? "year" : "years"}`,
          )
          .join(", ")}
        .
      </Figure>
      {year && (
        <>
          <Figure label="Energy cost a year" value={formatMoney(year.energy.costCentsPerYear)}>
            Modelled; its parts stand under "Energy and emissions".
          </Figure>
          <Figure
            label="Emissions a year, CO₂e"
            value={massText(year.emissions.kgCo2e.scope1 + year.emissions.kgCo2e.scope2Location)}
          >
            Fuel burnt and grid electricity (location-based), as if all its energy were the owner's.
          </Figure>
        </>
      )}
    </Figures>
  );
}
