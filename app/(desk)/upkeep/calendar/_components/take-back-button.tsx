"use client";

import { ActButton } from "@/app/_components/act-button";
import { takeBack } from "@/app/(desk)/upkeep/calendar/actions";

export function TakeBackButton({ feedId }: { readonly feedId: string }) {
  return <ActButton act={() => takeBack(feedId)} label="Take back" />;
}
