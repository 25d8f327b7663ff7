import { Caution } from "@/app/_components/caution";
import { formatNumber } from "@/app/_lib/format";
import { formatBracket } from "@/app/(desk)/heaters/_lib/install-text";
import { CAUTIONS } from "@/lib/core/heaters/cautions";
import {
  ANSWER_LABELS,
  FUEL_LABELS,
  INSTALL_EVIDENCE_LABELS,
  isCombustion,
  TECHNOLOGY_LABELS,
} from "@/lib/core/heaters/vocabulary";
import { addYears } from "@/lib/core/shared/calendar-day";
import { BTU_PER_KWH } from "@/lib/core/shared/units";
import type { HeaterPage } from "@/lib/services/heater-page";
import { orDash, temperatureText, volumeText } from "./words";

/** At or below this a tank can be lukewarm enough for legionella (ASHRAE Guideline 12-2000, as quoted). */
const LUKEWARM_BELOW_F = 140;
/** Above this a tap without a mixing valve scalds sooner (CPSC limit, as quoted). */
const SCALD_ABOVE_F = 120;

/** What the heater is, by its nameplate, and how it is set. */
export function PlatePart({ page }: { readonly page: HeaterPage }) {
  const { entry } = page;
  const { nameplate, install } = entry;
  return (
    <section className="section" aria-labelledby="plate">
      <h2 id="plate">Nameplate and setting</h2>
      <dl className="facts">
        <dt>Technology</dt>
        <dd>{TECHNOLOGY_LABELS[entry.technology]}</dd>
        <dt>Fuel</dt>
        <dd>{FUEL_LABELS[entry.fuel]}</dd>
        <dt>Maker</dt>
        <dd>{orDash(nameplate.manufacturer)}</dd>
        <dt>Model</dt>
        <dd>{orDash(nameplate.model)}</dd>
        <dt>Serial number</dt>
        <dd>{orDash(nameplate.serial)}</dd>
        <dt>Tank volume</dt>
        <dd>{volumeText(nameplate.volumeGal)}</dd>
        <dt>Input</dt>
        <dd>{inputText(page)}</dd>
        <dt>Uniform energy factor</dt>
        <dd>{orDash(nameplate.uniformEnergyFactor)}</dd>
        <dt>First-hour rating</dt>
        <dd>{volumeText(nameplate.firstHourGal)}</dd>
        <dt>Installed</dt>
        <dd>
          {formatBracket(install.earliest, install.latest)}{" "}
          <span className="soft">{INSTALL_EVIDENCE_LABELS[install.evidence]}</span>
        </dd>
        <dt>Warranty</dt>
        <dd>
          {entry.warrantyYears === null
            ? "–"
            : `${entry.warrantyYears} years, to ${formatBracket(
                addYears(install.earliest, Math.round(entry.warrantyYears)),
                addYears(install.latest, Math.round(entry.warrantyYears)),
              )}`}
        </dd>
        <dt>Setpoint</dt>
        <dd>{temperatureText(entry.setpointF)}</dd>
        <dt>Mixing valve</dt>
        <dd>{ANSWER_LABELS[entry.mixingValve]}</dd>
      </dl>
      <SettingCaution page={page} />
      <SizingCheckText page={page} />
    </section>
  );
}

function inputText({ entry }: HeaterPage): string {
  const { inputBtuPerHour: btu, inputWatts: watts } = entry.nameplate;
  if (isCombustion(entry.technology)) {
    return btu === null
      ? "–"
      : `${formatNumber(btu)} Btu/h (${formatNumber(btu / BTU_PER_KWH, 1)} kW)`;
  }
  return watts === null ? "–" : `${formatNumber(watts)} W`;
}

function SettingCaution({ page }: { readonly page: HeaterPage }) {
  const { setpointF, mixingValve } = page.entry;
  if (page.status === "retired" || setpointF === null) return null;
  if (setpointF > SCALD_ABOVE_F && mixingValve !== "yes") {
    return <Caution>{CAUTIONS.setpoint}</Caution>;
  }
  return setpointF < LUKEWARM_BELOW_F ? <Caution>{CAUTIONS.legionella}</Caution> : null;
}

const VERDICTS = {
  enough: "Large enough",
  close: "A close match",
  short: "Short",
  unknown: "Cannot be said",
} as const;

function SizingCheckText({ page }: { readonly page: HeaterPage }) {
  const { sizing } = page;
  return (
    <div>
      <h3>Is it large enough?</h3>
      <p>
        <strong>{VERDICTS[sizing.verdict]}</strong>
        {sizing.demandGal !== null && sizing.firstHourGal !== null
          ? `: ${formatNumber(sizing.firstHourGal)} gal in its first hour (${sizing.firstHourEvidence === "nameplate" ? "nameplate" : "estimate"}) against ${formatNumber(sizing.demandGal)} gal in the busiest hour.`
          : "."}
      </p>
      <details className="small soft">
        <summary>What it rests on</summary>
        <ul>
          {sizing.notes.map((note) => (
            <li key={note}>{note}</li>
          ))}
        </ul>
      </details>
    </div>
  );
}
