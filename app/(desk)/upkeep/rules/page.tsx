import type { Metadata } from "next";
import { PageHeading } from "@/app/_components/page-heading";
import { requireViewer } from "@/app/_lib/viewer";
import { readUpkeepRules } from "@/lib/services/upkeep-settings";
import { FactorTable } from "./_components/factor-table";
import { IntervalsForm } from "./_components/intervals-form";
import { NoticeForm } from "./_components/notice-form";
import { WorkTermsForm } from "./_components/work-terms-form";

export const metadata: Metadata = { title: "Rules of upkeep" };

export default async function RulesPage({
  searchParams,
}: {
  readonly searchParams: Promise<Readonly<Record<string, string | string[] | undefined>>>;
}) {
  const viewer = await requireViewer();
  const { property } = await searchParams;
  const view = await readUpkeepRules(viewer, typeof property === "string" ? property : null);
  const chosen = view.properties.find(({ id }) => id === view.propertyId);
  return (
    <>
      <PageHeading
        title="Rules of upkeep"
        question="When does care fall due, how long does it take, and what do we tell the residents?"
      />

      <section className="section" aria-labelledby="intervals">
        <h2 id="intervals">Intervals of a property</h2>
        <form className="filter" method="get" aria-label="Property">
          <div className="field">
            <label htmlFor="property">Property</label>
            <select id="property" name="property" defaultValue={view.propertyId ?? ""}>
              {view.properties.map(({ id, name, ownIntervals }) => (
                <option key={id} value={id}>
                  {name}
                  {ownIntervals > 0 ? ` (${ownIntervals} own)` : ""}
                </option>
              ))}
            </select>
          </div>
          <button className="button" type="submit">
            Show
          </button>
        </form>
        {chosen ? (
          <IntervalsForm
            key={chosen.id}
            propertyId={chosen.id}
            propertyName={chosen.name}
            own={view.own}
            mayEdit={view.mayEdit}
          />
        ) : (
          <p className="empty">There is no property on record yet: bring in a spreadsheet first.</p>
        )}
      </section>

      <section className="section" aria-labelledby="factors">
        <h2 id="factors">What lengthens and shortens an interval</h2>
        <FactorTable />
      </section>

      <section className="section" aria-labelledby="work">
        <h2 id="work">How long work takes, and what it costs</h2>
        <WorkTermsForm work={view.work} own={view.ownWork} mayEdit={view.mayEdit} />
      </section>

      <section className="section" aria-labelledby="notice">
        <h2 id="notice">Wording of entry notices</h2>
        <NoticeForm
          wording={view.work.noticeWording}
          isOwn={view.work.hasOwnWording}
          mayEdit={view.mayEdit}
        />
      </section>
    </>
  );
}
