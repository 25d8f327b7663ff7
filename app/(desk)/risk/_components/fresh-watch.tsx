"use client";

import { useRouter } from "next/navigation";
import { useEffect } from "react";

const OFTEN_MS = 2_000;
const SELDOM_MS = 15_000;
/** Most work is done within so many looks; what takes longer is looked at less often. */
const LOOKS_OFTEN = 60;

/** Shows the page anew while work that changes it is under way. */
export function FreshWatch() {
  const router = useRouter();
  useEffect(() => {
    let looks = 0;
    let timer: ReturnType<typeof setTimeout>;
    const wait = () => {
      timer = setTimeout(
        () => {
          looks += 1;
          router.refresh();
          wait();
        },
        looks < LOOKS_OFTEN ? OFTEN_MS : SELDOM_MS,
      );
    };
    wait();
    return () => clearTimeout(timer);
  }, [router]);
  return null;
}
