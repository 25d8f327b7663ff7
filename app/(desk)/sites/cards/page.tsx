import type { Metadata } from "next";
import Link from "next/link";
import { Figure, Figures } from "@/app/_components/figure";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import { PageHeading } from "@/app/_components/page-heading";
import { formatDay, formatNumber } from "@/app/_lib/format";
import { today } from "@/app/_lib/today";
import { requireViewer } from "@/app/_lib/viewer";
import { SiteFilter } from "@/app/(desk)/sites/_components/site-filter";
import styles from "@/app/(desk)/sites/_components/sites.module.css";
import { one, type Search } from "@/app/(desk)/sites/_lib/search";
import { type CardSum, readEmergencyBoard } from "@/lib/services/emergency-card";

export const metadata: Metadata = { title: "Emergency cards" };

export default async function CardsPage({
  searchParams,
}: {
  readonly searchParams: Promise<Search>;
}) {
  const board = await readEmergencyBoard(
    await requireViewer(),
    one(await searchParams, "property"),
    today(),
  );
  const { buildings, terms, options, mayEdit } = board;
  const sum = (of: (line: CardSum) => number) =>
    buildings.reduce((total, line) => total + of(line), 0);
  const names = (codes: readonly string[]) =>
    codes.map((code) => options.find((each) => each.code === code)?.name ?? code).join(", then ");
  return (
    <>
      <PageHeading title="Emergency cards" question="What do we do today if it fails now?">
        {mayEdit && (
          <Link className="button" href="/sites/cards/terms">
            Approve options, enter people
          </Link>
        )}
      </PageHeading>
      <SiteFilter {...board} />
      <Figures>
        <Figure
          label="Would meet an approved option"
          value={`${formatNumber(sum(({ preApproved }) => preApproved))} of ${formatNumber(sum(({ heaters }) => heaters))}`}
        >
          <p>
            {terms.preApproved.length === 0
              ? "No option is approved for failures."
              : `Tried in order: ${names(terms.preApproved)}.`}{" "}
            Taken only where everything it needs has been seen to be there and it is large enough.
          </p>
        </Figure>
        <Figure
          label="Would meet something else"
          value={formatNumber(sum(({ otherwise }) => otherwise))}
        >
          <p>Tried in order: {names(terms.otherwise)}.</p>
        </Figure>
        <Figure
          label="Would meet nothing listed"
          value={formatNumber(sum(({ nothing }) => nothing))}
        >
          <p>No option of either list can go in there. Decide it before the day.</p>
        </Figure>
        <Figure label="People to call" value={formatNumber(terms.contacts.length)}>
          <p>
            {terms.approved
              ? `Approved by ${terms.approved.by} on ${formatDay(terms.approved.on)}.`
              : "Nobody has approved anything yet: the lists are the starting ones."}
          </p>
        </Figure>
      </Figures>
      <LedgerFrame label="Cards by building">
        <table className={`ledger ${styles.medium}`}>
          <thead>
            <tr>
              <th scope="col">Building</th>
              <th scope="col" className="number">
                Heaters
              </th>
              <th scope="col" className="number">
                Approved option
              </th>
              <th scope="col" className="number">
                Something else
              </th>
              <th scope="col" className="number">
                Nothing listed
              </th>
              <th scope="col">Sheet</th>
            </tr>
          </thead>
          <tbody>
            {buildings.map(({ building, heaters, preApproved, otherwise, nothing }) => (
              <tr key={building.id}>
                <th scope="row">
                  {building.propertyName}, {building.name}
                </th>
                <td className="number">{heaters}</td>
                <td className="number">{preApproved}</td>
                <td className="number">{otherwise}</td>
                <td className="number">
                  {nothing > 0 ? <span className="mark mark--attention">{nothing}</span> : 0}
                </td>
                <td>
                  <Link
                    href={`/sites/buildings/${building.id}/cards`}
                    aria-label={`Cards of ${building.propertyName}, ${building.name}`}
                  >
                    Open and print
                  </Link>
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      </LedgerFrame>
    </>
  );
}
