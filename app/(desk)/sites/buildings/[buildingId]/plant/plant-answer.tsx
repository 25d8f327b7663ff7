import { LedgerFrame } from "@/app/_components/ledger-frame";
import { formatNumber } from "@/app/_lib/format";
import {
  type BuildingPlant,
  COMPRESSOR_FACTOR,
  PLANT_SPACE,
  type PlantAssessment,
  type PlantMargin,
} from "@/lib/core/heaters/building-plant";
import { ELECTRICIAN_DECIDES } from "@/lib/core/heaters/electrical";
import { APARTMENT_DEMAND } from "@/lib/core/heaters/sizing-tables";

const VERDICT_WORDS = { enough: "enough", short: "too small", unknown: "not known" } as const;

/** What the published method asks of the plant, against what is thought of and what the building has. */
export function PlantAnswer({
  assessment,
  plant,
  spareFrom,
}: {
  readonly assessment: PlantAssessment;
  readonly plant: BuildingPlant;
  readonly spareFrom: string;
}) {
  const { needed, byPeople, storage, heat, running, floor, electrical } = assessment;
  const isShort = storage.verdict === "short" || heat.verdict === "short" || running.leftGal < -0.5;
  const isSizedHere = plant.storageGal === null && plant.heatBtuPerHour === null;
  const { evidence } = APARTMENT_DEMAND[plant.level];
  return (
    <section className="section" aria-labelledby="answer" aria-live="polite">
      <h2 id="answer">
        {isSizedHere
          ? `${formatNumber(needed.storageGal)} gallons and ${formatNumber(needed.heatBtuPerHour / 1000)} kBtu/h`
          : isShort
            ? "Too small for the busiest hours"
            : "Enough for these homes"}
      </h2>
      <LedgerFrame label="The plant against what is needed">
        <table className="ledger">
          <thead>
            <tr>
              <th scope="col">What</th>
              <th scope="col" className="number">
                Needed
              </th>
              <th scope="col" className="number">
                There
              </th>
              <th scope="col" className="number">
                Margin
              </th>
              <th scope="col">Verdict</th>
            </tr>
          </thead>
          <tbody>
            <MarginRow name="Storage, gal" {...storage} />
            <MarginRow name="Heat output, kBtu/h" {...thousandths(heat)} />
            <MarginRow name="Floor, sq ft" {...floor} />
            <MarginRow
              name="Electric service, kVA"
              {...thousandths({
                needed: electrical.voltAmperes,
                offered: electrical.spareVoltAmperes,
                margin:
                  electrical.spareVoltAmperes === null
                    ? null
                    : electrical.spareVoltAmperes - electrical.voltAmperes,
                verdict: electrical.verdict,
              })}
              decimals={1}
            />
          </tbody>
        </table>
      </LedgerFrame>
      <p>
        {running.leftGal >= -0.5
          ? `With the heat pumps running, a full tank comes closest to running cool after the busiest ${minutes(running.windowMinutes)}: ${formatNumber(Math.max(0, running.leftGal))} usable gallons are left.`
          : `Even with the heat pumps running, the tank runs cool in the busiest ${minutes(running.windowMinutes)}: ${formatNumber(-running.leftGal)} gallons are missing.`}
      </p>
      <details>
        <summary className="small">How it is made</summary>
        <ul className="small">
          <li>
            Greatest day {formatNumber(needed.greatestDayGal)} gal at 120 °F: {plant.people} people
            by the ASHRAE handbook’s apartment table at {plant.level} use ({evidence}). Made in{" "}
            {plant.runHours} hours: {formatNumber(needed.recoveryGph)} gal an hour at{" "}
            {plant.storageF} °F.
          </li>
          <li>
            The tank alone carries the busiest three hours: {formatNumber(needed.usableGal)} usable
            gallons, ÷ 0.70 usable share.
          </li>
          <li>
            Beside it, by the ASPE handbook’s method 2 (as quoted), for a boiler that makes up the
            busiest half hour: {formatNumber(byPeople.recoveryGph)} gal an hour and{" "}
            {formatNumber(byPeople.storageGal)} gal of tank at 120 °F.
          </li>
          <li>
            Floor: {floor.tanks} {floor.tanks === 1 ? "tank" : "tanks"} of up to{" "}
            {PLANT_SPACE.tankGal.value} gal at {PLANT_SPACE.tankSqFt.value} sq ft (
            {PLANT_SPACE.tankSqFt.source}), heat pumps {PLANT_SPACE.heatPumpSqFt.value}{" "}
            {PLANT_SPACE.heatPumpSqFt.unit} (assumed). Full, the tanks weigh about{" "}
            {formatNumber(Math.round(floor.fullLb / 100) * 100)} lb (
            {formatNumber(Math.round((floor.fullLb * 0.453592) / 50) * 50)} kg): a structural
            engineer says whether the floor bears it.
          </li>
          <li>
            Electricity: {formatNumber(electrical.kilowatts, 1)} kW of heat pump ×{" "}
            {COMPRESSOR_FACTOR.value} ({COMPRESSOR_FACTOR.source})
            {electrical.amps === null
              ? ""
              : `, ${formatNumber(electrical.amps, 0)} A of the service`}
            . What is there is by {spareFrom}. Resistance back-up is not counted.
          </li>
          <li>
            {formatNumber(plant.storageF)} °F in the tank needs a listed mixing valve at its outlet;
            the loop’s own temperature and its balance are for the designer.
          </li>
        </ul>
      </details>
      <p className="small soft">
        {ELECTRICIAN_DECIDES} A licensed engineer designs the plant; this is its first size.
      </p>
    </section>
  );
}

function MarginRow({
  name,
  needed,
  offered,
  margin,
  verdict,
  decimals = 0,
}: PlantMargin & { readonly name: string; readonly decimals?: number }) {
  const word = VERDICT_WORDS[verdict];
  return (
    <tr>
      <th scope="row">{name}</th>
      <td className="number">{formatNumber(needed, decimals)}</td>
      <td className="number">{offered === null ? "–" : formatNumber(offered, decimals)}</td>
      <td className="number">
        {margin === null
          ? "–"
          : `${Math.abs(margin) < 0.05 ? "" : margin < 0 ? "−" : "+"}${formatNumber(Math.abs(margin), decimals)}`}
      </td>
      <td>{verdict === "enough" ? word : <span className="mark mark--attention">{word}</span>}</td>
    </tr>
  );
}

function thousandths({ needed, offered, margin, verdict }: PlantMargin): PlantMargin {
  const over = (value: number | null) => (value === null ? null : value / 1000);
  return { needed: needed / 1000, offered: over(offered), margin: over(margin), verdict };
}

function minutes(count: number): string {
  return count < 120 ? `${count} minutes` : `${count / 60} hours`;
}
