"use client";

import Link from "next/link";
import { usePathname } from "next/navigation";

const TABS = [
  { href: "/", label: "Today" },
  { href: "/heaters", label: "Heaters" },
  { href: "/sites", label: "Sites" },
  { href: "/risk", label: "Risk" },
  { href: "/plans", label: "Plans" },
  { href: "/upkeep", label: "Upkeep" },
  { href: "/emissions", label: "Emissions" },
  { href: "/import", label: "Bring in" },
  { href: "/settings", label: "Settings" },
] as const;

export function DeskTabs() {
  const path = usePathname();
  return (
    <nav className="tabs" aria-label="Screens">
      {TABS.map(({ href, label }) => {
        const isCurrent = href === "/" ? path === "/" : path.startsWith(href);
        return (
          <Link key={href} href={href} aria-current={isCurrent ? "page" : undefined}>
            {label}
          </Link>
        );
      })}
    </nav>
  );
}
