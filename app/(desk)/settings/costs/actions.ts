"use server";

import { revalidatePath } from "next/cache";
import { redirect } from "next/navigation";
import type { FormAnswer } from "@/app/_components/checked-form";
import { entriesOf } from "@/app/_lib/entries";
import { today } from "@/app/_lib/today";
import { requireViewer } from "@/app/_lib/viewer";
import { answerOf } from "@/app/(desk)/settings/_lib/answer";
import type { ConsequenceKey } from "@/lib/services/settings-consequences";
import { resetCost, saveCost } from "@/lib/services/settings-costs";

export async function enterCost(form: FormData): Promise<FormAnswer> {
  const outcome = await saveCost(await requireViewer(), entriesOf(form), today());
  if (!outcome.ok) return answerOf(outcome);
  revalidatePath("/settings", "layout");
  redirect("/settings/costs");
}

export async function resetToStandard(key: ConsequenceKey): Promise<FormAnswer> {
  const outcome = await resetCost(await requireViewer(), key, today());
  revalidatePath("/settings", "layout");
  return answerOf(outcome);
}
