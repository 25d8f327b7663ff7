"use client";

import Link from "next/link";
import { createContext, type ReactNode, useContext } from "react";
import styles from "./register.module.css";

/** Leaves the register for the page of a heater; what was about to change its address is dropped. */
export const OpenHeater = createContext<(heaterId: string) => void>(() => undefined);

/** A heater's tag, which leads to its page. */
export function HeaterLink({
  heaterId,
  children,
}: {
  readonly heaterId: string;
  readonly children: ReactNode;
}) {
  const open = useContext(OpenHeater);
  return (
    <Link
      href={`/heaters/${heaterId}`}
      prefetch={false}
      tabIndex={-1}
      className={styles.tag}
      onNavigate={(event) => {
        event.preventDefault();
        open(heaterId);
      }}
    >
      {children}
    </Link>
  );
}
