"use client";

import { ActButton } from "@/app/_components/act-button";
import { makeRounds } from "@/app/(desk)/upkeep/rounds/actions";

/** Makes the rounds that the page shows. */
export function MakeButton({
  address,
  count,
}: {
  readonly address: string;
  readonly count: number;
}) {
  return (
    <ActButton
      act={() => makeRounds(address)}
      label={count === 1 ? "Make this round" : `Make these ${count} rounds`}
      className="button button--primary"
    />
  );
}
