import type { Metadata } from "next";
import { requireViewer } from "@/app/_lib/viewer";
import styles from "@/app/(desk)/settings/_components/settings.module.css";
import { mayDo } from "@/lib/services/permissions";
import { OrganizationForm } from "./organization-form";

export const metadata: Metadata = { title: "Organization" };

export default async function OrganizationPage() {
  const viewer = await requireViewer();
  return (
    <section className="section" aria-labelledby="organization">
      <h2 id="organization">Organization</h2>
      {mayDo(viewer.role, "settings.edit") ? (
        <div className={styles.narrow}>
          <OrganizationForm name={viewer.organizationName} unitSystem={viewer.unitSystem} />
        </div>
      ) : (
        <dl className="facts">
          <dt>Name</dt>
          <dd>{viewer.organizationName}</dd>
          <dt>Units</dt>
          <dd>{viewer.unitSystem === "us" ? "US customary first" : "SI first"}</dd>
        </dl>
      )}
      {mayDo(viewer.role, "people.manage") && (
        <>
          <h3>The whole record</h3>
          <p>
            Everything on record of this organization as JSON lines, to keep or to take elsewhere:
            every table at one moment, pictures included, passwords and secrets not.{" "}
            <a href="/settings/organization/export" download>
              Take the record out
            </a>
          </p>
        </>
      )}
    </section>
  );
}
