"use client";

import { ErrorNotice } from "@/app/_components/error-notice";

/** As the page of the whole program, within the desk: the tabs stay. */
export default function ErrorPage({
  error,
  reset,
}: {
  readonly error: Error & { readonly digest?: string };
  readonly reset: () => void;
}) {
  return <ErrorNotice digest={error.digest ?? null} retry={reset} />;
}
