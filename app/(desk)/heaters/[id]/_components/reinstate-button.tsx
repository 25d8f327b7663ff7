"use client";

import { useTransition } from "react";
import { putBackInService } from "@/app/(desk)/heaters/actions";

/** Takes a retirement back that was entered by mistake. */
export function ReinstateButton({ id }: { readonly id: string }) {
  const [isPending, start] = useTransition();
  return (
    <button
      className="button button--quiet"
      type="button"
      disabled={isPending}
      onClick={() => start(() => putBackInService(id))}
    >
      {isPending ? "Putting back …" : "Undo: put it back in service"}
    </button>
  );
}
