"use client";

import { useEffect, useState } from "react";

/**
 * Keeps this page and what it is built from on the device, so that it opens without a signal.
 * @returns true once it is kept; null where the browser or a server under development cannot.
 */
export function useKeptRound(owner: string): boolean | null {
  const [isKept, setIsKept] = useState<boolean | null>(null);
  useEffect(() => {
    if (process.env.NODE_ENV !== "production" || !("serviceWorker" in navigator)) return;
    let isGone = false;
    const keep = async () => {
      await navigator.serviceWorker.register("/sw.js");
      const { active } = await navigator.serviceWorker.ready;
      const answer = new MessageChannel();
      answer.port1.onmessage = ({ data }) => {
        // Without a signal now, the page is here because it was kept before.
        if (!isGone) setIsKept(data.kept === true || !navigator.onLine);
      };
      const page = window.location.origin + window.location.pathname;
      const message = { type: "keep-round", owner, page, parts: partsOfPage() };
      active?.postMessage(message, [answer.port2]);
    };
    setIsKept(false);
    // A browser that may not keep anything (private mode) records all the same, while it has a signal.
    keep().catch(() => {
      if (!isGone) setIsKept(null);
    });
    return () => {
      isGone = true;
    };
  }, [owner]);
  return isKept;
}

/** Scripts, styles and fonts that this page has loaded. */
function partsOfPage(): readonly string[] {
  const loaded = performance.getEntriesByType("resource").map(({ name }) => name);
  const named = [
    ...[...document.querySelectorAll<HTMLScriptElement>("script[src]")].map(({ src }) => src),
    ...[...document.querySelectorAll<HTMLLinkElement>("link[href]")].map(({ href }) => href),
  ];
  return [...new Set([...loaded, ...named])].filter((address) => {
    const url = new URL(address, window.location.href);
    return url.origin === window.location.origin && url.pathname.startsWith("/_next/static/");
  });
}
