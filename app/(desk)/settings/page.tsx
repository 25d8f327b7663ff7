import type { Metadata } from "next";
import Link from "next/link";
import type { ReactNode } from "react";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import { formatNumber } from "@/app/_lib/format";
import { requireViewer } from "@/app/_lib/viewer";
import { readSettingsOverview } from "@/lib/services/settings-overview";

export const metadata: Metadata = { title: "Settings" };

export default async function SettingsPage() {
  const viewer = await requireViewer();
  const overview = await readSettingsOverview(viewer);
  const { costs, properties, untestedProperties, buildings, unknownBuildings } = overview;
  return (
    <section className="section" aria-labelledby="overview">
      <h2 id="overview">What stands, and what is still assumed</h2>
      <LedgerFrame label="Settings">
        <table className="ledger">
          <thead>
            <tr>
              <th scope="col">Section</th>
              <th scope="col">What it holds</th>
              <th scope="col">State</th>
            </tr>
          </thead>
          <tbody>
            <Line
              href="/settings/costs"
              name="Costs of a failure"
              holds="Emergency premium, water damage by place, days without hot water"
              lacks={costs.own < costs.all}
            >
              {costs.own} of {costs.all} are your own, {costs.all - costs.own} assumed or quoted
            </Line>
            <Line
              href="/settings/properties"
              name="Properties"
              holds="Climate, tariffs, grid region, hot-water use, water tests"
              lacks={untestedProperties > 0}
            >
              {formatNumber(properties)} properties
              {untestedProperties > 0
                ? `, ${formatNumber(untestedProperties)} without a water test`
                : ""}
            </Line>
            <Line
              href="/settings/properties"
              name="Buildings"
              holds="Electrical service, headroom, cost of an upgrade"
              lacks={unknownBuildings > 0}
            >
              {formatNumber(buildings)} buildings
              {unknownBuildings > 0
                ? `, ${formatNumber(unknownBuildings)} whose service is not known`
                : ""}
            </Line>
            <Line
              href="/plans/options"
              name="Replacement options"
              holds="What can go in, its costs in parts, its energy data"
            >
              kept with the plans
            </Line>
            <Line href="/settings/organization" name="Organization" holds="Name, units">
              {viewer.organizationName},{" "}
              {viewer.unitSystem === "us" ? "US customary units first" : "SI units first"}
            </Line>
            <Line href="/settings/people" name="People" holds="Who may do what">
              {formatNumber(overview.people)} people
            </Line>
            <Line href="/settings/log" name="Log of changes" holds="Who changed what, when">
              {formatNumber(overview.changes)} changes
            </Line>
          </tbody>
        </table>
      </LedgerFrame>
    </section>
  );
}

function Line({
  href,
  name,
  holds,
  lacks = false,
  children,
}: {
  readonly href: string;
  readonly name: string;
  readonly holds: string;
  /** Something is assumed or missing here. */
  readonly lacks?: boolean;
  readonly children: ReactNode;
}) {
  return (
    <tr>
      <th scope="row">
        <Link href={href}>{name}</Link>
      </th>
      <td>{holds}</td>
      <td>{lacks ? <span className="mark mark--attention">{children}</span> : children}</td>
    </tr>
  );
}
