import type { Metadata } from "next";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import { PageHeading } from "@/app/_components/page-heading";
import { formatDay } from "@/app/_lib/format";
import { requireViewer } from "@/app/_lib/viewer";
import { readFeeds } from "@/lib/services/calendar-feeds";
import { MakeFeed } from "./_components/make-feed";
import { TakeBackButton } from "./_components/take-back-button";

export const metadata: Metadata = { title: "Calendar" };

export default async function CalendarPage() {
  const feeds = await readFeeds(await requireViewer());
  return (
    <>
      <PageHeading
        title="Calendar"
        question="How do my rounds get into the calendar that I already use?"
      />
      <p>
        An address that your calendar program subscribes to. It shows days, not hours, and looks
        again by itself. A single round can be had as a file from its own page.
      </p>
      <MakeFeed />
      <section className="section" aria-labelledby="working">
        <h2 id="working">Addresses that work</h2>
        {feeds.length === 0 ? (
          <p className="empty">None yet.</p>
        ) : (
          <LedgerFrame label="Addresses that work">
            <table className="ledger">
              <thead>
                <tr>
                  <th scope="col">Made</th>
                  <th scope="col">Shows</th>
                  <th scope="col">Last read</th>
                  <th scope="col">Act</th>
                </tr>
              </thead>
              <tbody>
                {feeds.map(({ id, content, createdOn, lastReadOn }) => (
                  <tr key={id}>
                    <th scope="row">{formatDay(createdOn)}</th>
                    <td>
                      {content === "rounds"
                        ? "My rounds"
                        : "My rounds, and what falls due each week"}
                    </td>
                    <td>{lastReadOn ? formatDay(lastReadOn) : "never"}</td>
                    <td>
                      <TakeBackButton feedId={id} />
                    </td>
                  </tr>
                ))}
              </tbody>
            </table>
          </LedgerFrame>
        )}
      </section>
    </>
  );
}
