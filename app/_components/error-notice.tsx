"use client";

import { useRouter } from "next/navigation";
import { startTransition, useEffect, useState } from "react";

const ASK_AGAIN_MILLISECONDS = 3_000;

/**
 * What a failed page says. It asks whether the record can be reached; while it cannot, it says so and
 * tries again, and the page comes back by itself when it can.
 */
export function ErrorNotice({
  digest,
  retry,
}: {
  readonly digest: string | null;
  readonly retry: () => void;
}) {
  const router = useRouter();
  const [isReachable, setIsReachable] = useState<boolean | null>(null);
  useEffect(() => {
    let wasOut = false;
    let timer: ReturnType<typeof setTimeout>;
    const ask = async () => {
      const reached = await fetch("/api/ready", { cache: "no-store" }).then(
        ({ ok }) => ok,
        () => false,
      );
      setIsReachable(reached);
      if (reached && wasOut) {
        startTransition(() => {
          router.refresh();
          retry();
        });
      }
      wasOut = wasOut || !reached;
      if (!reached) timer = setTimeout(ask, ASK_AGAIN_MILLISECONDS);
    };
    void ask();
    return () => clearTimeout(timer);
  }, [router, retry]);

  if (isReachable === false) {
    return (
      <section role="alert">
        <h1>The record cannot be reached</h1>
        <p>
          The database does not answer. What was saved before is kept; what you were typing was not
          saved. This page tries again every few seconds and comes back by itself.
        </p>
      </section>
    );
  }
  return (
    <section role="alert">
      <h1>This page did not work</h1>
      <p>
        Something failed that we did not foresee. Nothing half-done was saved. Try again; if it
        fails again, tell whoever runs the program{digest ? ` and name the mark ${digest}` : ""}.
      </p>
      <p>
        <button
          className="button"
          type="button"
          onClick={() =>
            startTransition(() => {
              router.refresh();
              retry();
            })
          }
        >
          Try again
        </button>
      </p>
    </section>
  );
}
