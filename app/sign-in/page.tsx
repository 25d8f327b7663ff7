import type { Metadata } from "next";
import { redirect } from "next/navigation";
import { maybeViewer } from "@/app/_lib/viewer";
import { isNewInstallation } from "@/lib/services/settings-first-run";
import { ForgetRounds } from "./forget-rounds";
import { SignInForm } from "./sign-in-form";

export const metadata: Metadata = { title: "Sign in" };

export default async function SignInPage() {
  if (await maybeViewer()) redirect("/");
  if (await isNewInstallation()) redirect("/first-run");
  return (
    <main className="sheet" style={{ maxWidth: "26rem" }}>
      <div>
        <h1>Tanklore</h1>
        <p className="soft">Every heater, its risk, its care and its replacement, on one record.</p>
      </div>
      <SignInForm />
      <ForgetRounds />
    </main>
  );
}
