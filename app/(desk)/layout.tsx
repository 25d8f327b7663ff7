import { cookies } from "next/headers";
import Link from "next/link";
import type { ReactNode } from "react";
import { DeskTabs } from "@/app/_components/desk-tabs";
import { requireViewer } from "@/app/_lib/viewer";
import { ROLE_LABELS } from "@/lib/core/shared/roles";
import { chooseTheme, signOut } from "./actions";

export default async function DeskLayout({ children }: { readonly children: ReactNode }) {
  const viewer = await requireViewer();
  const theme = (await cookies()).get("tanklore-theme")?.value;
  const otherTheme = theme === "dark" ? "light" : "dark";
  return (
    <>
      <a className="visually-hidden" href="#sheet">
        Skip to the page
      </a>
      <header>
        <div className="masthead">
          <Link className="masthead__mark" href="/">
            Tanklore
          </Link>
          <span className="masthead__owner">{viewer.organizationName}</span>
          <div className="masthead__person">
            <span>
              {viewer.name}, {ROLE_LABELS[viewer.role]}
            </span>
            <form action={chooseTheme}>
              <button
                className="button button--quiet"
                type="submit"
                name="theme"
                value={otherTheme}
              >
                {otherTheme === "dark" ? "Dark" : "Light"}
              </button>
            </form>
            <form action={signOut}>
              <button className="button button--quiet" type="submit">
                Sign out
              </button>
            </form>
          </div>
        </div>
        <DeskTabs />
        {viewer.isDemo && (
          <p className="demo-note">
            Invented demo portfolio: its owner, places, people and figures are made up.
          </p>
        )}
      </header>
      <main className="sheet" id="sheet">
        {children}
      </main>
    </>
  );
}
