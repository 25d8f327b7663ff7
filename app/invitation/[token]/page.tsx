import type { Metadata } from "next";
import Link from "next/link";
import { connection } from "next/server";
import { readLink } from "@/lib/services/settings-people";
import { InvitationForm } from "./invitation-form";

export const metadata: Metadata = { title: "Choose a password", referrer: "no-referrer" };

export default async function InvitationPage({
  params,
}: {
  readonly params: Promise<{ readonly token: string }>;
}) {
  // A link works once: what was rendered for it before may not be shown again.
  await connection();
  const { token } = await params;
  const person = await readLink(token);
  return (
    <main className="sheet" style={{ maxWidth: "30rem" }}>
      <div>
        <h1>Tanklore</h1>
        <p className="soft">
          {person
            ? `${person.name}, choose the password with which ${person.email} signs in.`
            : "This link was used, replaced by a newer one, or is older than seven days. Ask an owner for another."}
        </p>
      </div>
      {person ? (
        <InvitationForm token={token} email={person.email} />
      ) : (
        <Link href="/sign-in">Sign in</Link>
      )}
    </main>
  );
}
