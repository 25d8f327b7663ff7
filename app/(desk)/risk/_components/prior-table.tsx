import { LedgerFrame } from "@/app/_components/ledger-frame";
import { formatNumber } from "@/app/_lib/format";
import { TECHNOLOGIES, TECHNOLOGY_LABELS } from "@/lib/core/heaters/vocabulary";
import type { Evidence } from "@/lib/core/shared/sourced";
import {
  COVARIATE_LABELS,
  COVARIATES,
  type Covariate,
  TYPICAL_VALUES,
} from "@/lib/core/survival/covariates";
import {
  COEFFICIENT_PRIORS,
  LIFETIME_PRIORS,
  PROPERTY_EFFECT_PRIOR,
  type Prior,
} from "@/lib/core/survival/priors";

const EVIDENCE_LABELS: Readonly<Record<Evidence, string>> = {
  published: "published",
  quoted: "quoted by others",
  trade: "common practice",
  memory: "from memory",
  assumed: "assumed",
  entered: "entered",
};

/** 5 % and 95 % of a standard normal. */
const Z = 1.645;

/** Every number that the model starts from, with its spread, source and standing. */
export function PriorTable() {
  const shape = LIFETIME_PRIORS["gas-storage"].shape;
  return (
    <LedgerFrame label="Numbers that the model starts from">
      <table className="ledger">
        <thead>
          <tr>
            <th scope="col">Number</th>
            <th scope="col" className="number">
              Value
            </th>
            <th scope="col" className="number">
              Nine in ten between
            </th>
            <th scope="col" className="number">
              Ordinary heater
            </th>
            <th scope="col">Standing</th>
            <th scope="col">Source</th>
          </tr>
        </thead>
        <tbody>
          {TECHNOLOGIES.map((technology) => {
            const { meanLife } = LIFETIME_PRIORS[technology];
            return (
              <tr key={technology}>
                <th scope="row">Mean life: {TECHNOLOGY_LABELS[technology]}</th>
                <td className="number">{meanLife.value} years</td>
                <td className="number">{logRange(meanLife, " years")}</td>
                <td className="number">–</td>
                <Standing prior={meanLife} />
              </tr>
            );
          })}
          <tr>
            <th scope="row">
              Shape of the lifetime law, all kinds (above 1: old ones fail faster)
            </th>
            <td className="number">{shape.value}</td>
            <td className="number">{logRange(shape, "")}</td>
            <td className="number">–</td>
            <Standing prior={shape} />
          </tr>
          {COVARIATES.map((covariate) => {
            const prior = COEFFICIENT_PRIORS[covariate];
            return (
              <tr key={covariate}>
                <th scope="row">{COVARIATE_LABELS[covariate]}</th>
                <td className="number">{wear(prior.value)}</td>
                <td className="number">{wearRange(prior)}</td>
                <td className="number">{ordinary(covariate)}</td>
                <Standing prior={prior} />
              </tr>
            );
          })}
          <tr>
            <th scope="row">A property’s own effect</th>
            <td className="number">{wear(PROPERTY_EFFECT_PRIOR.value)}</td>
            <td className="number">{wearRange(PROPERTY_EFFECT_PRIOR)}</td>
            <td className="number">none</td>
            <Standing prior={PROPERTY_EFFECT_PRIOR} />
          </tr>
        </tbody>
      </table>
    </LedgerFrame>
  );
}

function Standing({ prior }: { readonly prior: Prior }) {
  return (
    <>
      <td>{EVIDENCE_LABELS[prior.evidence]}</td>
      <td>{prior.source}</td>
    </>
  );
}

/** A coefficient as the change of wear it stands for. */
function wear(coefficient: number): string {
  return `${signedPercent(coefficient)} % wear`;
}

function wearRange({ value, standardDeviation }: Prior): string {
  const low = signedPercent(value - Z * standardDeviation);
  return `${low} to ${signedPercent(value + Z * standardDeviation)} %`;
}

function signedPercent(coefficient: number): string {
  const percent = Math.round(100 * Math.expm1(coefficient));
  if (percent === 0) return "0";
  return percent > 0 ? `+${percent}` : `−${-percent}`;
}

function logRange({ value, standardDeviation }: Prior, unit: string): string {
  const low = value * Math.exp(-Z * standardDeviation);
  const high = value * Math.exp(Z * standardDeviation);
  return `${formatNumber(low, 1)} to ${formatNumber(high, 1)}${unit}`;
}

function ordinary(covariate: Covariate): string {
  const { value } = TYPICAL_VALUES[covariate];
  switch (covariate) {
    case "hardness":
      return `${60 + 100 * value} mg/L`;
    case "setpoint":
      return `${120 + 10 * value} °F`;
    case "closedSystem":
      return `1 in ${Math.round(1 / value)}`;
    case "highDraw":
      return "bedrooms plus one";
    default:
      return value === 0 ? "no" : "yes";
  }
}
