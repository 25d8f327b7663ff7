import type { Metadata } from "next";
import Link from "next/link";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import { TechnologyMark } from "@/app/_components/technology-mark";
import { formatKilograms } from "@/app/_lib/format";
import { today } from "@/app/_lib/today";
import { requireViewer } from "@/app/_lib/viewer";
import { METER_HOLDER_LABELS } from "@/lib/core/energy/meters";
import { formatCents } from "@/lib/core/shared/money";
import { readHomes } from "@/lib/services/emissions-homes";
import { calibrationWords, changeOf, energyOf, spaceEffectWords } from "./home-words";

export const metadata: Metadata = { title: "Homes before and after" };

type Search = Readonly<Record<string, string | string[] | undefined>>;

export default async function HomesPage({
  searchParams,
}: {
  readonly searchParams: Promise<Search>;
}) {
  const { property, building } = await searchParams;
  const view = await readHomes(
    await requireViewer(),
    {
      propertyId: typeof property === "string" ? property : null,
      buildingId: typeof building === "string" ? building : null,
    },
    today(),
  );
  if (view.homes.length === 0) {
    return (
      <div className="empty">
        <p>There are no heaters in service here.</p>
        <Link className="button" href="/heaters">
          Heaters
        </Link>
      </div>
    );
  }
  return (
    <>
      <form className="filter" method="get" aria-label="Filter">
        <div className="field">
          <label htmlFor="property">Property</label>
          <select id="property" name="property" defaultValue={view.propertyId ?? ""}>
            {view.properties.map(({ id, name }) => (
              <option key={id} value={id}>
                {name}
              </option>
            ))}
          </select>
        </div>
        <div className="field">
          <label htmlFor="building">Building</label>
          <select id="building" name="building" defaultValue={view.buildingId ?? ""}>
            {view.buildings.map(({ id, name }) => (
              <option key={id} value={id}>
                {name}
              </option>
            ))}
          </select>
        </div>
        <button className="button" type="submit">
          Show
        </button>
      </form>
      <section className="section">
        <h2>What a swap means for each home</h2>
        <p>
          The same hot water from the heater there now and from the planned one
          {view.planName ? ` (${view.planName})` : ""}, a year at today’s prices. Who holds the
          meter pays: where gas and electricity have different holders, the bill moves. Modelled;
          what the home’s heating makes up for is told where the heating is on record.
        </p>
        <p>{calibrationWords(view.calibration, view.usesCalibration)}</p>
        <LedgerFrame label="Homes before and after a swap">
          <table className="ledger">
            <thead>
              <tr>
                <th scope="col">Home</th>
                <th scope="col">Building</th>
                <th scope="col">Heater</th>
                <th scope="col">Now</th>
                <th scope="col">Planned</th>
                <th scope="col" className="number">
                  Energy before
                </th>
                <th scope="col" className="number">
                  Energy after
                </th>
                <th scope="col" className="number">
                  Cost before
                </th>
                <th scope="col" className="number">
                  Cost after
                </th>
                <th scope="col" className="number">
                  Resident’s bill
                </th>
                <th scope="col" className="number">
                  Owner’s bill
                </th>
                <th scope="col" className="number">
                  Emissions
                </th>
                <th scope="col">Meters</th>
                <th scope="col">Effect on the rooms, a year</th>
              </tr>
            </thead>
            <tbody>
              {view.homes.map(({ result, ...home }) => (
                <tr key={home.heaterId}>
                  <th scope="row">
                    <Link href={`/emissions/homes/${home.heaterId}`}>
                      {home.home ?? "no home"}, sheet
                    </Link>
                  </th>
                  <td>{home.buildingName}</td>
                  <td>
                    <Link href={`/heaters/${home.heaterId}`}>{home.tag}</Link>
                  </td>
                  <td>
                    <TechnologyMark technology={home.technology} />
                  </td>
                  <td>
                    {home.optionName}, {home.period ?? "not in the plan"}
                  </td>
                  <td className="number">{energyOf(result.before)}</td>
                  <td className="number">{energyOf(result.after)}</td>
                  <td className="number">
                    {formatCents(result.before.energy.costCentsPerYear, { whole: true })}
                  </td>
                  <td className="number">
                    {formatCents(result.after.energy.costCentsPerYear, { whole: true })}
                  </td>
                  <td className="number">{changeOf(result.change.centsPaidBy.resident)}</td>
                  <td className="number">{changeOf(result.change.centsPaidBy.owner)}</td>
                  <td className="number">
                    {formatKilograms(result.before.kgCo2e)} to{" "}
                    {formatKilograms(result.after.kgCo2e)}
                  </td>
                  <td>
                    fuel {METER_HOLDER_LABELS[home.meters.fuel].toLowerCase()}, electricity{" "}
                    {METER_HOLDER_LABELS[home.meters.electricity].toLowerCase()}
                    {home.meters.isAssumed && " (assumed)"}
                    {result.billMovesTo && (
                      <span className="mark mark--attention">
                        {" "}
                        the bill moves to the {result.billMovesTo}
                      </span>
                    )}
                  </td>
                  <td>{spaceEffectWords(result)}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </LedgerFrame>
      </section>
    </>
  );
}
