import type { Metadata } from "next";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import { formatInstant } from "@/app/_lib/format";
import { requireViewer } from "@/app/_lib/viewer";
import styles from "@/app/(desk)/settings/_components/settings.module.css";
import { ROLE_LABELS } from "@/lib/core/shared/roles";
import { readPeople } from "@/lib/services/settings-people";
import { AddPersonForm } from "./add-person-form";
import { PersonActions, RoleChoice } from "./person-actions";

export const metadata: Metadata = { title: "People" };

export default async function PeoplePage() {
  const viewer = await requireViewer();
  const { mayManage, people } = await readPeople(viewer);
  return (
    <>
      <section className="section" aria-labelledby="people">
        <h2 id="people">People and their roles</h2>
        <p>
          {mayManage
            ? "A change of role takes effect at once. There is always at least one owner."
            : "An owner adds people and changes roles."}
        </p>
        <LedgerFrame label="Table of people">
          <table className={`ledger ${styles.centred}`}>
            <thead>
              <tr>
                <th scope="col">Person</th>
                <th scope="col">Role</th>
                <th scope="col">Sign-in</th>
                {mayManage && <th scope="col">Change</th>}
              </tr>
            </thead>
            <tbody>
              {people.map((person) => (
                <tr key={person.userId}>
                  <th scope="row">
                    {person.name}
                    {person.userId === viewer.userId ? " (you)" : ""}
                    <span className={styles.meaning}>{person.email}</span>
                  </th>
                  <td>
                    {mayManage ? (
                      <RoleChoice userId={person.userId} name={person.name} role={person.role} />
                    ) : (
                      ROLE_LABELS[person.role]
                    )}
                  </td>
                  <td>
                    {!person.hasPassword
                      ? person.linkUntil
                        ? `waits for its link to be used, until ${formatInstant(person.linkUntil)}`
                        : "cannot sign in: make a new link"
                      : person.lastSeenAt
                        ? `last seen ${formatInstant(person.lastSeenAt)}`
                        : "not signed in now"}
                  </td>
                  {mayManage && (
                    <td>
                      <PersonActions userId={person.userId} name={person.name} />
                    </td>
                  )}
                </tr>
              ))}
            </tbody>
          </table>
        </LedgerFrame>
      </section>
      {mayManage && (
        <section className="section" aria-labelledby="add-person">
          <h2 id="add-person">Add a person</h2>
          <AddPersonForm />
        </section>
      )}
      <RoleTable />
    </>
  );
}

const MAY: readonly (readonly [string, string])[] = [
  [ROLE_LABELS.owner, "everything, people included"],
  [ROLE_LABELS.manager, "everything but people: heaters, imports, plans, settings"],
  [ROLE_LABELS.maintenance, "edits heaters, records visits"],
  [ROLE_LABELS.sustainability, "edits settings: prices, climate, water, costs"],
  [ROLE_LABELS.viewer, "reads"],
];

function RoleTable() {
  return (
    <section className="section" aria-labelledby="roles">
      <h2 id="roles">What a role may do</h2>
      <dl className="facts">
        {MAY.flatMap(([role, may]) => [
          <dt key={`${role}-role`}>{role}</dt>,
          <dd key={`${role}-may`}>{may}</dd>,
        ])}
      </dl>
    </section>
  );
}
