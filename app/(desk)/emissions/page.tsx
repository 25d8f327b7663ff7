import type { Metadata } from "next";
import Link from "next/link";
import { Chart } from "@/app/_components/chart";
import { Figure, Figures } from "@/app/_components/figure";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import { PageHeading } from "@/app/_components/page-heading";
import { formatKilograms, formatNumber, formatShare } from "@/app/_lib/format";
import { today } from "@/app/_lib/today";
import { requireViewer } from "@/app/_lib/viewer";
import { type EmissionLine, locationTotal } from "@/lib/core/emissions/annual-emissions";
import { DEFAULT_GWP_SET } from "@/lib/core/emissions/gases";
import { GRID_REGION_NAMES } from "@/lib/core/emissions/grid-rates";
import { FUEL_LABELS, type Fuel } from "@/lib/core/heaters/vocabulary";
import {
  ASSUMED_ANNUAL_LEAK_SHARE,
  BOUNDARIES,
  type EmissionsPage as EmissionsData,
  readEmissions,
} from "@/lib/services/emissions";

export const metadata: Metadata = { title: "Emissions" };

const BOUNDARY_LABELS = {
  all: "All energy as the owner's",
  meters: "By meter: homes' own meters apart",
} as const;

type Search = Readonly<Record<string, string | string[] | undefined>>;

export default async function EmissionsPage({
  searchParams,
}: {
  readonly searchParams: Promise<Search>;
}) {
  const viewer = await requireViewer();
  const search = await searchParams;
  const one = (name: string) => {
    const value = search[name];
    return typeof value === "string" && value !== "" ? value : null;
  };
  const boundary = BOUNDARIES.find((known) => known === one("boundary")) ?? "all";
  const data = await readEmissions(
    viewer,
    { propertyId: uuid(one("property")), runId: uuid(one("plan")), boundary },
    today(),
  );
  return (
    <>
      <PageHeading title="Emissions" question="How far down, and by which rules?" />
      <form className="filter" method="get" aria-label="Filter">
        <div className="field">
          <label htmlFor="property">Property</label>
          <select id="property" name="property" defaultValue={data.propertyId ?? ""}>
            {!data.needsProperty && <option value="">All properties</option>}
            {data.properties.map((property) => (
              <option key={property.id} value={property.id}>
                {property.name}
              </option>
            ))}
          </select>
        </div>
        <div className="field">
          <label htmlFor="boundary">Boundary</label>
          <select id="boundary" name="boundary" defaultValue={boundary}>
            {BOUNDARIES.map((value) => (
              <option key={value} value={value}>
                {BOUNDARY_LABELS[value]}
              </option>
            ))}
          </select>
        </div>
        {data.runs.length > 0 && (
          <div className="field">
            <label htmlFor="plan">Plan</label>
            <select id="plan" name="plan" defaultValue={data.plan?.runId ?? ""}>
              {data.runs.map((run) => (
                <option key={run.id} value={run.id}>
                  {run.name}, {run.finishedAt.toISOString().slice(0, 10)}
                </option>
              ))}
            </select>
          </div>
        )}
        <button className="button" type="submit">
          Show
        </button>
      </form>
      {data.heaterCount === 0 ? (
        <div className="empty">
          <p>There are no heaters in service on record here yet.</p>
          <Link className="button" href="/import">
            Bring in a spreadsheet
          </Link>
        </div>
      ) : (
        <Account data={data} boundary={boundary} />
      )}
    </>
  );
}

/** An identifier from the address, or null when it is none. */
function uuid(text: string | null): string | null {
  return text !== null && /^[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$/i.test(text) ? text : null;
}

function Account({
  data,
  boundary,
}: {
  readonly data: EmissionsData;
  readonly boundary: (typeof BOUNDARIES)[number];
}) {
  const { today: kg } = data;
  const last = data.path.at(-1);
  return (
    <>
      <Figures>
        <Figure label={`Scope 1, ${data.year}: burnt on site`} value={formatKilograms(kg.scope1)}>
          <p>
            {formatNumber(data.thermsPerYear)} therms a year, modelled, times the combustion factors
            below. CO2-equivalent with {DEFAULT_GWP_SET} potentials over 100 years.
          </p>
        </Figure>
        <Figure
          label="Scope 2, location-based"
          value={formatKilograms(kg.scope2Location)}
          sourceLabel="By which rule"
        >
          <p>
            {formatNumber(data.kwhPerYear)} kWh a year, modelled, times the grid's average of each
            property's region.
          </p>
        </Figure>
        <Figure
          label="Scope 2, market-based"
          value={formatKilograms(kg.scope2Market)}
          sourceLabel="By which rule"
        >
          <p>
            No contracts or certificates are on record and no residual mix is published for these
            regions, so the grid average stands in, as the GHG Protocol's Scope 2 Guidance (2015)
            tells it to. The two answers are never added.
          </p>
        </Figure>
        {boundary === "meters" && (
          <Figure
            label="Scope 3, category 13: homes' own meters"
            value={formatKilograms(kg.scope3)}
          />
        )}
        <Figure label="Together, location-based" value={formatKilograms(locationTotal(kg))}>
          <p>
            {formatNumber(data.heaterCount)} heaters. This sum does not move when a meter changes
            hands.
          </p>
        </Figure>
        {last && (
          <Figure
            label={`Cut by ${last.year} along the plan`}
            value={formatShare(
              1 - locationTotal(last.planned) / Math.max(1e-9, locationTotal(last.unchanged)),
              0,
            )}
          >
            <p>
              Against keeping today's heaters, with the grid's factor held at its latest published
              value. {data.plan?.scenarioName}.
            </p>
          </Figure>
        )}
      </Figures>

      <section className="section">
        <h2>Along the plan</h2>
        {data.plan && data.path.length > 0 ? (
          <Path data={data} boundary={boundary} />
        ) : (
          <div className="empty">
            <p>No plan has been computed yet. With one, its years are drawn here.</p>
            <Link className="button" href="/plans">
              Make a plan
            </Link>
          </div>
        )}
      </section>

      <section className="section">
        <h2>Each factor and its source</h2>
        <LedgerFrame label="Emission lines with factors">
          <table className="ledger">
            <thead>
              <tr>
                <th scope="col">Scope</th>
                <th scope="col">Of what</th>
                <th scope="col">Gas</th>
                <th scope="col" className="number">
                  Amount a year
                </th>
                <th scope="col" className="number">
                  Factor
                </th>
                <th scope="col" className="number">
                  Vintage
                </th>
                <th scope="col" className="number">
                  CO2-equivalent
                </th>
                <th scope="col">Source</th>
              </tr>
            </thead>
            <tbody>
              {data.lines.map((line) => (
                <tr key={`${line.scope} ${line.method} ${line.factor.id}`}>
                  <th scope="row">
                    {line.scope}
                    {line.scope === 2 && `, ${line.method}-based`}
                  </th>
                  <td>{activityOf(line)}</td>
                  <td>{gasName(line.gas)}</td>
                  <td className="number">
                    {formatNumber(line.amount)} {line.amountUnit}
                  </td>
                  <td className="number">
                    {line.factor.value} {line.factor.unit}
                  </td>
                  <td className="number">{line.factor.vintage}</td>
                  <td className="number">{formatKilograms(line.kgCo2e)}</td>
                  <td>
                    {line.factor.source} <span className="soft">({line.factor.evidence})</span>
                  </td>
                </tr>
              ))}
            </tbody>
          </table>
        </LedgerFrame>
        {data.notes.map((note) => (
          <p key={note} className="small soft sentence">
            {note}
          </p>
        ))}
      </section>

      <div className="columns">
        <section className="section">
          <h2>By property</h2>
          <LedgerFrame label="Emissions by property">
            <table className="ledger">
              <thead>
                <tr>
                  <th scope="col">Property</th>
                  <th scope="col" className="number">
                    Heaters
                  </th>
                  <th scope="col">Grid region</th>
                  <th scope="col" className="number">
                    Scope 1
                  </th>
                  <th scope="col" className="number">
                    Scope 2, location
                  </th>
                  {boundary === "meters" && (
                    <th scope="col" className="number">
                      Scope 3
                    </th>
                  )}
                </tr>
              </thead>
              <tbody>
                {data.byProperty.map((row) => (
                  <tr key={row.name}>
                    <th scope="row">{row.name}</th>
                    <td className="number">{formatNumber(row.heaters)}</td>
                    <td>
                      {row.gridRegion}, {GRID_REGION_NAMES[row.gridRegion]}
                    </td>
                    <td className="number">{formatKilograms(row.kgCo2e.scope1)}</td>
                    <td className="number">{formatKilograms(row.kgCo2e.scope2Location)}</td>
                    {boundary === "meters" && (
                      <td className="number">{formatKilograms(row.kgCo2e.scope3)}</td>
                    )}
                  </tr>
                ))}
              </tbody>
            </table>
          </LedgerFrame>
        </section>
        <section className="section">
          <h2>What was assumed</h2>
          {data.assumed.length === 0 ? (
            <p>Nothing: every value is on record.</p>
          ) : (
            <LedgerFrame label="Assumptions">
              <table className="ledger">
                <thead>
                  <tr>
                    <th scope="col">Assumption</th>
                    <th scope="col" className="number">
                      Heaters of {formatNumber(data.heaterCount)}
                    </th>
                  </tr>
                </thead>
                <tbody>
                  {data.assumed.map((row) => (
                    <tr key={row.words}>
                      <td className="sentence">{row.words}</td>
                      <td className="number">{formatNumber(row.heaters)}</td>
                    </tr>
                  ))}
                </tbody>
              </table>
            </LedgerFrame>
          )}
        </section>
      </div>
    </>
  );
}

function Path({
  data,
  boundary,
}: {
  readonly data: EmissionsData;
  readonly boundary: (typeof BOUNDARIES)[number];
}) {
  const tonnes = (kilograms: number) => kilograms / 1000;
  const first = data.path[0];
  const last = data.path.at(-1);
  if (!first || !last) return null;
  const of = (scope: "scope1" | "scope2Location" | "scope3") =>
    data.path.map((year) => tonnes(year.planned[scope]));
  const isByMeter = boundary === "meters";
  return (
    <>
      <Chart
        title="Tonnes by year along the plan"
        summary={`From ${formatKilograms(locationTotal(first.planned))} in ${first.year} to ${formatKilograms(locationTotal(last.planned))} in ${last.year}; without swaps ${formatKilograms(locationTotal(last.unchanged))}.`}
        labelsName="Year"
        labels={data.path.map(({ year }) => String(year))}
        unit="tonnes CO2-equivalent a year"
        format="decimal"
        series={[
          { label: "Scope 1", values: of("scope1"), ink: "copper", stack: "planned" },
          {
            label: "Scope 2, location-based",
            values: of("scope2Location"),
            ink: "tide",
            stack: "planned",
          },
          ...(isByMeter
            ? [
                {
                  label: "Scope 3, homes' own meters",
                  values: of("scope3"),
                  ink: "series-grey" as const,
                  stack: "planned",
                },
              ]
            : []),
          {
            label: "Today's heaters kept",
            values: data.path.map((year) => tonnes(locationTotal(year.unchanged))),
            ink: "ink",
            kind: "line",
            isDashed: true,
          },
        ]}
      />
      <p className="small soft">
        Plan: <Link href={`/plans/${data.plan?.runId}`}>{data.plan?.scenarioName}</Link>. A swap
        counts from the start of its period; emergencies in between are left out. Grid factors are
        held at their latest vintage. Refrigerant leakage of new units at{" "}
        {formatShare(ASSUMED_ANNUAL_LEAK_SHARE, 0)} of the charge a year (assumed).
      </p>
    </>
  );
}

function activityOf(line: EmissionLine): string {
  const { activity, region } = line.factor;
  if (activity === "grid-electricity") {
    return `Electricity, ${region ?? ""} ${GRID_REGION_NAMES[region ?? ""] ?? ""}`.trim();
  }
  if (activity === "refrigerant") return "Refrigerant lost";
  return FUEL_LABELS[activity as Fuel] ?? activity;
}

const GAS_NAMES: Readonly<Record<string, string>> = {
  co2: "CO2",
  ch4: "Methane",
  n2o: "Nitrous oxide",
  co2e: "CO2-equivalent",
};

function gasName(gas: string): string {
  return GAS_NAMES[gas] ?? gas;
}
