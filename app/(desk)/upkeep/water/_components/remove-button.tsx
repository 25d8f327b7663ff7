"use client";

import { ActButton } from "@/app/_components/act-button";
import { remove } from "@/app/(desk)/upkeep/water/actions";

export function RemoveButton({ id }: { readonly id: string }) {
  return <ActButton act={() => remove(id)} label="Take off" />;
}
