import type { Metadata } from "next";
import Link from "next/link";
import { PageHeading } from "@/app/_components/page-heading";
import { today } from "@/app/_lib/today";
import { requireViewer } from "@/app/_lib/viewer";
import { type AddressParts, readRegisterQuery } from "@/lib/core/heaters/register-query";
import { mayDo } from "@/lib/services/permissions";
import { readRegisterExtent, readRegisterPage } from "@/lib/services/register";
import { Register } from "./_components/register";

export const metadata: Metadata = { title: "Heaters" };

export default async function HeatersPage({
  searchParams,
}: {
  readonly searchParams: Promise<AddressParts>;
}) {
  const viewer = await requireViewer();
  const { query, problems } = readRegisterQuery(await searchParams);
  const day = today();
  const { rows, places, hasHeaters } = await readRegisterPage(viewer, query, day);
  const mayEdit = mayDo(viewer.role, "heater.edit");
  return (
    <>
      <PageHeading title="Heaters" question="What do we have, and where?">
        {mayDo(viewer.role, "import.run") && (
          <Link className="button" href="/import">
            Bring in a list
          </Link>
        )}
        {mayEdit && (
          <Link className="button" href="/heaters/new">
            Add a heater
          </Link>
        )}
      </PageHeading>
      {problems.length > 0 && (
        <div className="notice notice--attention" role="status">
          Part of the address was not understood and is left out:{" "}
          {problems.map((problem) => problem.message).join("; ")}.
        </div>
      )}
      {hasHeaters ? (
        <Register
          query={query}
          rows={rows}
          places={places}
          extent={readRegisterExtent(viewer, query, day)}
        />
      ) : (
        <div className="empty">
          <p>
            No heaters are on record yet. Bring in the list you keep now, or add them one by one.
          </p>
        </div>
      )}
    </>
  );
}
