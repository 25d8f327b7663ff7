"use client";

import { useEffect } from "react";

/** The last resort, when even the frame of the pages failed. It loads the page anew once the record answers again. */
export default function GlobalErrorPage() {
  useEffect(() => {
    let wasOut = false;
    const timer = setInterval(async () => {
      const answer = await fetch("/api/ready", { cache: "no-store" }).catch(() => null);
      if (answer?.ok && wasOut) window.location.reload();
      wasOut = wasOut || !answer?.ok;
    }, 5_000);
    return () => clearInterval(timer);
  }, []);
  return (
    <html lang="en">
      <body>
        <main>
          <h1>The program cannot show this page</h1>
          <p>
            What was saved before is kept. If the record is out of reach, this page comes back by
            itself.
          </p>
          <p>
            <button type="button" onClick={() => window.location.reload()}>
              Try again
            </button>
          </p>
        </main>
      </body>
    </html>
  );
}
