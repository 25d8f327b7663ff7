"use client";

import { ErrorNotice } from "@/app/_components/error-notice";

/** A page that failed: says whether the record is out of reach, and comes back by itself when it is not. */
export default function ErrorPage({
  error,
  reset,
}: {
  readonly error: Error & { readonly digest?: string };
  readonly reset: () => void;
}) {
  return (
    <main className="sheet">
      <ErrorNotice digest={error.digest ?? null} retry={reset} />
    </main>
  );
}
