"use server";

import { revalidatePath } from "next/cache";
import type { FormAnswer } from "@/app/_components/checked-form";
import { answerOf } from "@/app/_lib/answer";
import { entriesOf } from "@/app/_lib/entries";
import { requireViewer } from "@/app/_lib/viewer";
import { saveIntervals, saveNoticeWording, saveWorkTerms } from "@/lib/services/upkeep-settings";

async function answer(save: ReturnType<typeof saveIntervals>): Promise<FormAnswer> {
  const outcome = await save;
  if (outcome.ok) revalidatePath("/upkeep", "layout");
  return answerOf(outcome);
}

export async function sendIntervals(form: FormData): Promise<FormAnswer> {
  return answer(saveIntervals(await requireViewer(), entriesOf(form)));
}

export async function sendWorkTerms(form: FormData): Promise<FormAnswer> {
  return answer(saveWorkTerms(await requireViewer(), entriesOf(form)));
}

export async function sendNoticeWording(form: FormData): Promise<FormAnswer> {
  return answer(saveNoticeWording(await requireViewer(), entriesOf(form)));
}

/** Takes up the program's own wording again. */
export async function resetNoticeWording(): Promise<FormAnswer> {
  return answer(saveNoticeWording(await requireViewer(), null));
}
