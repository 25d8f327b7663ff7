import { LedgerFrame } from "@/app/_components/ledger-frame";
import { formatDay, formatNumber } from "@/app/_lib/format";
import { ELECTRICIAN_DECIDES } from "@/lib/core/heaters/electrical";
import type { HeadroomAssessment, HeadroomFigure } from "@/lib/core/heaters/electrical-building";

/** What every method says, what each rests on and what is missing. */
export function HeadroomAnswer({
  assessment,
  burners,
}: {
  readonly assessment: HeadroomAssessment;
  readonly burners: number;
}) {
  const { measured, calculated, stated, circuits, missing, assumed } = assessment;
  return (
    <section className="section" aria-labelledby="answer" aria-live="polite">
      <h2 id="answer">
        {circuits === null
          ? "No answer yet"
          : `${formatNumber(circuits)} new ${circuits === 1 ? "circuit" : "circuits"} before an upgrade`}
      </h2>
      {missing.length > 0 && (
        <p className="notice notice--attention">The method chosen lacks: {missing.join(" ")}</p>
      )}
      {circuits !== null && circuits < burners && (
        <p>
          <span className="mark mark--attention">
            {formatNumber(burners - circuits)} of {formatNumber(burners)} gas heaters
          </span>{" "}
          would find no circuit without an upgrade, a plug-in heat pump or a central plant.
        </p>
      )}
      <LedgerFrame label="By method">
        <table className="ledger">
          <thead>
            <tr>
              <th scope="col">Method</th>
              <th scope="col" className="number">
                There already, A
              </th>
              <th scope="col" className="number">
                Spare, A
              </th>
              <th scope="col" className="number">
                Each heater, A
              </th>
              <th scope="col" className="number">
                Circuits
              </th>
            </tr>
          </thead>
          <tbody>
            <MethodRow name="Measured peak × 1.25" figure={measured} />
            <MethodRow name="Calculated load" figure={calculated} />
            <tr>
              <th scope="row">
                Electrician’s statement
                {stated && (
                  <div className="small soft">
                    {stated.by}, {formatDay(stated.on)}
                  </div>
                )}
              </th>
              <td className="number">–</td>
              <td className="number">–</td>
              <td className="number">–</td>
              <td className="number">{stated?.circuits ?? "–"}</td>
            </tr>
          </tbody>
        </table>
      </LedgerFrame>
      {assumed.length > 0 && (
        <details open>
          <summary className="small">{assumed.length} things are assumed</summary>
          <ul className="small">
            {assumed.map((sentence) => (
              <li key={sentence}>{sentence}</li>
            ))}
          </ul>
        </details>
      )}
      <p className="small soft">{ELECTRICIAN_DECIDES}</p>
    </section>
  );
}

function MethodRow({
  name,
  figure,
}: {
  readonly name: string;
  readonly figure: HeadroomFigure | null;
}) {
  return (
    <tr>
      <th scope="row">{name}</th>
      <td className="number">{figure ? formatNumber(figure.existingAmps, 1) : "–"}</td>
      <td className="number">{figure ? formatNumber(figure.spareAmps, 1) : "–"}</td>
      <td className="number">{figure ? formatNumber(figure.perCircuitAmps, 1) : "–"}</td>
      <td className="number">{figure?.circuits ?? "–"}</td>
    </tr>
  );
}
