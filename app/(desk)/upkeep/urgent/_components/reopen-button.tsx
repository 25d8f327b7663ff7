"use client";

import { ActButton } from "@/app/_components/act-button";
import { reopen } from "@/app/(desk)/upkeep/urgent/actions";

export function ReopenButton({ id }: { readonly id: string }) {
  return <ActButton act={() => reopen(id)} label="Open again" />;
}
