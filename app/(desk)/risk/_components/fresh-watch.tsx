"use client";

import { useRouter } from "next/navigation";
import { useEffect } from "react";

/** A pass takes seconds; after this many looks it is left to the next visit. */
const LOOKS = 60;
const EVERY_MS = 2_000;

/** Shows the page anew while a pass over the fleet is under way. */
export function FreshWatch() {
  const router = useRouter();
  useEffect(() => {
    let looks = 0;
    const timer = setInterval(() => {
      looks += 1;
      if (looks >= LOOKS) clearInterval(timer);
      router.refresh();
    }, EVERY_MS);
    return () => clearInterval(timer);
  }, [router]);
  return null;
}
