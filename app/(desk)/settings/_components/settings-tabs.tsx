"use client";

import Link from "next/link";
import { usePathname } from "next/navigation";
import styles from "./settings.module.css";

const SECTIONS = [
  { href: "/settings", label: "Overview" },
  { href: "/settings/costs", label: "Costs of a failure" },
  { href: "/settings/properties", label: "Properties" },
  { href: "/settings/organization", label: "Organization" },
  { href: "/settings/people", label: "People" },
  { href: "/settings/password", label: "Your sign-in" },
  { href: "/settings/log", label: "Log of changes" },
] as const;

/** Where a screen below a section belongs. */
const BELONGS_TO: Readonly<Record<string, string>> = {
  "/settings/buildings": "/settings/properties",
};

export function SettingsTabs() {
  const path = usePathname();
  const base = path.split("/").slice(0, 3).join("/");
  const current = BELONGS_TO[base] ?? base;
  return (
    <nav className={styles.tabs} aria-label="Settings">
      {SECTIONS.map(({ href, label }) => (
        <Link key={href} href={href} aria-current={href === current ? "page" : undefined}>
          {label}
        </Link>
      ))}
    </nav>
  );
}
