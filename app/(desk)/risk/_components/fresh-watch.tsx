"use client";

import { useRouter } from "next/navigation";
import { useEffect, useState, useTransition } from "react";

const OFTEN_MS = 2_000;
const SELDOM_MS = 15_000;
/** Most work is done within so many looks; what takes longer is looked at less often. */
const LOOKS_OFTEN = 60;

/**
 * Shows the page anew while work that changes it is under way. The next look waits until the last one
 * has come back: a look that overtakes a slow one would throw it away.
 */
export function FreshWatch() {
  const router = useRouter();
  const [isLooking, startLook] = useTransition();
  const [looks, setLooks] = useState(0);
  useEffect(() => {
    if (isLooking) return;
    const timer = setTimeout(
      () =>
        startLook(() => {
          router.refresh();
          setLooks(looks + 1);
        }),
      looks < LOOKS_OFTEN ? OFTEN_MS : SELDOM_MS,
    );
    return () => clearTimeout(timer);
  }, [router, isLooking, looks]);
  return null;
}
