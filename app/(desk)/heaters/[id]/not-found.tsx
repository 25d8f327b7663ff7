import Link from "next/link";
import { PageHeading } from "@/app/_components/page-heading";

export default function HeaterNotFound() {
  return (
    <>
      <PageHeading title="No such heater" />
      <div className="empty">
        <p>
          No heater with this address is on record. It may have been taken back with the list that
          brought it in, or the address may be incomplete.
        </p>
        <Link className="button" href="/heaters">
          Look in the register
        </Link>
      </div>
    </>
  );
}
