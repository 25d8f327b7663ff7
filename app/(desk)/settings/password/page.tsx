import type { Metadata } from "next";
import { requireViewer } from "@/app/_lib/viewer";
import styles from "@/app/(desk)/settings/_components/settings.module.css";
import { ROLE_LABELS } from "@/lib/core/shared/roles";
import { PasswordForm } from "./password-form";

export const metadata: Metadata = { title: "Your sign-in" };

export default async function OwnSignInPage({
  searchParams,
}: {
  readonly searchParams: Promise<Readonly<Record<string, string | string[] | undefined>>>;
}) {
  const viewer = await requireViewer();
  const { changed } = await searchParams;
  return (
    <section className="section" aria-labelledby="own-sign-in">
      <h2 id="own-sign-in">Your sign-in</h2>
      <p>
        {viewer.name}, {viewer.email}, {ROLE_LABELS[viewer.role]}
      </p>
      {changed === "yes" && (
        <p className="notice notice--good" role="status">
          Your password is changed. Your other sessions have ended.
        </p>
      )}
      <div className={styles.narrow}>
        <PasswordForm key={String(changed)} />
      </div>
    </section>
  );
}
