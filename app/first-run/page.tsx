import type { Metadata } from "next";
import { redirect } from "next/navigation";
import { connection } from "next/server";
import { isNewInstallation } from "@/lib/services/settings-first-run";
import { FirstRunForm } from "./first-run-form";

export const metadata: Metadata = { title: "First run" };

export default async function FirstRunPage() {
  await connection();
  if (!(await isNewInstallation())) redirect("/sign-in");
  return (
    <main className="sheet" style={{ maxWidth: "30rem" }}>
      <div>
        <h1>Tanklore</h1>
        <p className="soft">
          A new installation. Say who it belongs to; you become its owner and add the others later.
        </p>
      </div>
      <FirstRunForm />
    </main>
  );
}
