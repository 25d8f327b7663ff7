"use client";

import { useEffect } from "react";

/** Where somebody signs in nobody is signed in: rounds kept on the device are thrown away. Unsent entries stay. */
export function ForgetRounds() {
  useEffect(() => {
    if ("caches" in window) void caches.delete("tanklore-rounds-1").catch(() => undefined);
  }, []);
  return null;
}
