"use server";

import { revalidatePath } from "next/cache";
import type { FormAnswer } from "@/app/_components/checked-form";
import { answerOf } from "@/app/_lib/answer";
import { entriesOf } from "@/app/_lib/entries";
import { today } from "@/app/_lib/today";
import { requireViewer } from "@/app/_lib/viewer";
import { addAnalysis, removeAnalysis } from "@/lib/services/water";

export async function add(form: FormData): Promise<FormAnswer> {
  const outcome = await addAnalysis(await requireViewer(), entriesOf(form), today());
  if (outcome.ok) revalidatePath("/upkeep/water");
  return answerOf(outcome);
}

export async function remove(id: string): Promise<FormAnswer> {
  const outcome = await removeAnalysis(await requireViewer(), id, today());
  if (outcome.ok) revalidatePath("/upkeep/water");
  return answerOf(outcome);
}
