"use server";

import { revalidatePath } from "next/cache";
import type { FormAnswer } from "@/app/_components/checked-form";
import { answerOf } from "@/app/_lib/answer";
import { entriesOf } from "@/app/_lib/entries";
import { today } from "@/app/_lib/today";
import { requireViewer } from "@/app/_lib/viewer";
import { reopenMatter, settleMatter } from "@/lib/services/upkeep-urgent";

export async function settle(form: FormData): Promise<FormAnswer> {
  const outcome = await settleMatter(await requireViewer(), entriesOf(form), today());
  if (outcome.ok) revalidatePath("/upkeep", "layout");
  return answerOf(outcome);
}

export async function reopen(id: string): Promise<FormAnswer> {
  const outcome = await reopenMatter(await requireViewer(), id);
  if (outcome.ok) revalidatePath("/upkeep", "layout");
  return answerOf(outcome);
}
