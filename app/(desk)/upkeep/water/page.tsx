import type { Metadata } from "next";
import Link from "next/link";
import { Chart } from "@/app/_components/chart";
import { Figure, Figures } from "@/app/_components/figure";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import { PageHeading } from "@/app/_components/page-heading";
import { formatDay, formatNumber, formatShare } from "@/app/_lib/format";
import { today } from "@/app/_lib/today";
import { requireViewer } from "@/app/_lib/viewer";
import { ANSWER_LABELS } from "@/lib/core/heaters/vocabulary";
import { mgPerLitreToGrains } from "@/lib/core/shared/units";
import { HARDNESS_SCALES } from "@/lib/core/upkeep/hardness";
import { readWater, type Scale, type WaterView } from "@/lib/services/water";
import { AnalysisForm } from "./_components/analysis-form";
import { RemoveButton } from "./_components/remove-button";

export const metadata: Metadata = { title: "Water" };

const MISSING_WORDS: Readonly<Record<string, string>> = {
  ph: "pH",
  alkalinityMgPerLitre: "alkalinity",
  dissolvedSolidsMgPerLitre: "dissolved solids",
  hardness: "hardness",
};

export default async function WaterPage({
  searchParams,
}: {
  readonly searchParams: Promise<Readonly<Record<string, string | string[] | undefined>>>;
}) {
  const viewer = await requireViewer();
  const { property } = await searchParams;
  const day = today();
  const view = await readWater(viewer, typeof property === "string" ? property : null, day);
  const untested = view.properties.filter(({ latest }) => latest === null).length;
  return (
    <>
      <PageHeading title="Water" question="What does the water do to the tanks?" />
      {view.chosen ? (
        <Property chosen={view.chosen} mayEdit={view.mayEdit} day={day} />
      ) : (
        <p className="empty">There is no property on record yet: bring in a spreadsheet first.</p>
      )}
      <section className="section" aria-labelledby="all">
        <h2 id="all">All properties</h2>
        {untested > 0 && (
          <p>
            <span className="mark mark--attention">
              {formatNumber(untested)} of {formatNumber(view.properties.length)} properties have no
              analysis
            </span>
            : their water counts as ordinary until there is one.
          </p>
        )}
        <LedgerFrame label="Water of all properties">
          <table className="ledger">
            <thead>
              <tr>
                <th scope="col">Property</th>
                <th scope="col" className="number">
                  Hardness, gr/gal
                </th>
                <th scope="col" className="number">
                  mg/L
                </th>
                <th scope="col">USGS class</th>
                <th scope="col">Softened</th>
                <th scope="col">Latest analysis</th>
              </tr>
            </thead>
            <tbody>
              {view.properties.map(({ id, name, latest, usgsClass }) => (
                <tr key={id}>
                  <th scope="row">
                    <Link href={`/upkeep/water?property=${id}`}>{name}</Link>
                  </th>
                  <td className="number">
                    {number(latest?.hardnessMgPerLitre, mgPerLitreToGrains, 1)}
                  </td>
                  <td className="number">{number(latest?.hardnessMgPerLitre)}</td>
                  <td>{usgsClass ?? "not known"}</td>
                  <td>{latest ? ANSWER_LABELS[latest.softened] : "Not known"}</td>
                  <td>{latest ? formatDay(latest.sampledOn) : "none"}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </LedgerFrame>
      </section>
    </>
  );
}

function number(
  value: number | null | undefined,
  convert: (value: number) => number = (same) => same,
  decimals = 0,
): string {
  return value === null || value === undefined ? "–" : formatNumber(convert(value), decimals);
}

function Property({
  chosen: { property, analyses, effects },
  mayEdit,
  day,
}: {
  readonly chosen: NonNullable<WaterView["chosen"]>;
  readonly mayEdit: boolean;
  readonly day: string;
}) {
  const last = analyses.findLast(({ scale }) => "value" in scale) ?? analyses.at(-1);
  const hardness = analyses.filter(({ hardnessMgPerLitre }) => hardnessMgPerLitre !== null);
  const tank = `${formatNumber(effects.tankF)} °F`;
  const { risk } = effects;
  return (
    <section className="section" aria-labelledby="property">
      <h2 id="property">{property.name}</h2>
      <Figures>
        <Figure
          label={`Hardness, ${HARDNESS_SCALES.usgs.name} class`}
          value={property.usgsClass ?? "not known"}
        >
          <p>{HARDNESS_SCALES.usgs.source}. Other scales name the same water otherwise.</p>
        </Figure>
        <Figure
          label={`Saturation index at ${tank}`}
          value={last && "value" in last.scale ? signed(last.scale.value.index) : "not known"}
        >
          <p>
            {last
              ? `Sampled ${formatDay(last.sampledOn)}: ${scaleInWords(last.scale)}.`
              : "No analysis is on record."}
          </p>
          <p>
            Langelier index: above +0.3 the water can lay down scale at this temperature, below −0.3
            it dissolves it (common practice, no source). {tank}{" "}
            {effects.isTankAssumed
              ? "is assumed: no setpoint is on record here."
              : "is the middle of the setpoints on record here."}
          </p>
        </Figure>
        <Figure label="Flush every" value={`${effects.flushMonths} months`}>
          <p>
            Before what was found last changes it. {effects.flushReason ?? "The base interval."}
          </p>
        </Figure>
        <Figure label="An anode lasts about" value={`${effects.anodeMedianMonths} months`}>
          <p>
            Median; inspected every {effects.anodeInspectionMonths} months at the latest. Softened
            water uses anodes up about twice as fast (common practice, no source).
          </p>
        </Figure>
        {risk && (
          <Figure label="Mean chance of failure, 12 months" value={formatShare(risk.now)}>
            <dl className="facts">
              <dt>With this water</dt>
              <dd>{formatShare(risk.now, 2)}</dd>
              <dt>In soft water (60 mg/L)</dt>
              <dd>{formatShare(risk.soft, 2)}</dd>
              <dt>In softened water</dt>
              <dd>{formatShare(risk.softened, 2)}</dd>
            </dl>
            <p>
              Mean over {formatNumber(risk.heaters)} heaters, by the model in use, as if the water
              had always been so: it is not what a softener bought today would bring.
            </p>
          </Figure>
        )}
      </Figures>

      {hardness.length > 1 && (
        <Chart
          title="Hardness over time"
          summary={`Total hardness of ${hardness.length} analyses, mg/L as CaCO3. USGS: hard above 120, very hard above 180.`}
          labelsName="Day of the sample"
          labels={hardness.map(({ sampledOn }) => sampledOn)}
          series={[
            {
              label: "Hardness",
              values: hardness.map(({ hardnessMgPerLitre }) => hardnessMgPerLitre),
              ink: "tide",
              kind: "line",
            },
            {
              label: "Hard from (USGS)",
              values: hardness.map(() => 120),
              ink: "series-grey",
              kind: "line",
              isDashed: true,
            },
          ]}
          unit="mg/L as CaCO3"
        />
      )}

      {analyses.length === 0 ? (
        <p className="empty">No analysis is on record. A strip for hardness and pH is a start.</p>
      ) : (
        <LedgerFrame label={`Analyses of ${property.name}`}>
          <table className="ledger">
            <thead>
              <tr>
                <th scope="col">Sampled</th>
                <th scope="col" className="number">
                  Hardness, mg/L
                </th>
                <th scope="col" className="number">
                  Calcium, mg/L
                </th>
                <th scope="col">Softened</th>
                <th scope="col" className="number">
                  pH
                </th>
                <th scope="col" className="number">
                  Alkalinity, mg/L
                </th>
                <th scope="col" className="number">
                  Solids, mg/L
                </th>
                <th scope="col" className="number">
                  Cold, °F
                </th>
                <th scope="col">Disinfectant</th>
                <th scope="col">Index at {tank}</th>
                {mayEdit && <th scope="col">Act</th>}
              </tr>
            </thead>
            <tbody>
              {[...analyses].reverse().map((analysis) => (
                <tr key={analysis.id}>
                  <th scope="row">
                    {formatDay(analysis.sampledOn)}
                    {analysis.note && <div className="soft small">{analysis.note}</div>}
                  </th>
                  <td className="number">{number(analysis.hardnessMgPerLitre)}</td>
                  <td className="number">{number(analysis.calciumMgPerLitre)}</td>
                  <td>{ANSWER_LABELS[analysis.softened]}</td>
                  <td className="number">{number(analysis.ph, undefined, 1)}</td>
                  <td className="number">{number(analysis.alkalinityMgPerLitre)}</td>
                  <td className="number">{number(analysis.dissolvedSolidsMgPerLitre)}</td>
                  <td className="number">{number(analysis.temperatureF)}</td>
                  <td>{analysis.disinfectant ?? "–"}</td>
                  <td>{scaleInWords(analysis.scale)}</td>
                  {mayEdit && (
                    <td>
                      <RemoveButton id={analysis.id} />
                    </td>
                  )}
                </tr>
              ))}
            </tbody>
          </table>
        </LedgerFrame>
      )}

      {mayEdit && (
        <details>
          <summary>Add an analysis</summary>
          <AnalysisForm key={property.id} propertyId={property.id} today={day} />
        </details>
      )}
    </section>
  );
}

function signed(index: number): string {
  return `${index < 0 ? "−" : "+"}${formatNumber(Math.abs(index), 2)}`;
}

function scaleInWords(scale: Scale): string {
  if ("missing" in scale) {
    return `lacks ${scale.missing.map((name) => MISSING_WORDS[name] ?? name).join(", ")}`;
  }
  const { index, tendency, isCalciumAssumed } = scale.value;
  return `${signed(index)}, ${tendency}${isCalciumAssumed ? "; all hardness taken as calcium" : ""}`;
}
