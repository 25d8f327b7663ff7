"use client";

import Link from "next/link";
import { usePathname } from "next/navigation";
import styles from "./section-tabs.module.css";

export type SectionTab = {
  readonly href: string;
  readonly label: string;
  /** A count that calls for attention, said with its word. */
  readonly note?: string;
};

/** The screens of one section; the first is the section itself and current only on its own address. */
export function SectionTabs({
  label,
  tabs,
}: {
  readonly label: string;
  readonly tabs: readonly SectionTab[];
}) {
  const path = usePathname();
  return (
    <nav className={styles.tabs} aria-label={label}>
      {tabs.map(({ href, label: name, note }, index) => {
        const isCurrent = path === href || (index > 0 && path.startsWith(`${href}/`));
        return (
          <Link key={href} href={href} aria-current={isCurrent ? "page" : undefined}>
            {name}
            {note && <span className="mark mark--attention">{note}</span>}
          </Link>
        );
      })}
    </nav>
  );
}
