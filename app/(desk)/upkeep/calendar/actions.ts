"use server";

import { revalidatePath } from "next/cache";
import type { FormAnswer } from "@/app/_components/checked-form";
import { answerOf } from "@/app/_lib/answer";
import { requireViewer } from "@/app/_lib/viewer";
import { makeFeed, takeBackFeed } from "@/lib/services/calendar-feeds";

export type MakeAnswer = FormAnswer & {
  /** Path of the new address; shown this once. */
  readonly path: string | null;
};

export async function make(_before: MakeAnswer, form: FormData): Promise<MakeAnswer> {
  const outcome = await makeFeed(await requireViewer(), String(form.get("content") ?? ""));
  if (!outcome.ok) return { ...answerOf(outcome), path: null };
  revalidatePath("/upkeep/calendar");
  return { ...answerOf(outcome), path: `/calendar/${outcome.value.secret}.ics` };
}

export async function takeBack(feedId: string): Promise<FormAnswer> {
  const outcome = await takeBackFeed(await requireViewer(), feedId);
  if (outcome.ok) revalidatePath("/upkeep/calendar");
  return answerOf(outcome);
}
