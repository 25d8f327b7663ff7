"use server";

import { revalidatePath } from "next/cache";
import { redirect } from "next/navigation";
import { today } from "@/app/_lib/today";
import { requireViewer } from "@/app/_lib/viewer";
import type { Problem } from "@/lib/core/shared/outcome";
import { type ReplanForm, requestReplan } from "@/lib/services/plan-replan";

/** Asks for a plan around this one and goes to it; comes back with what is to be put right. */
export async function submitReplan(
  runId: string,
  form: ReplanForm,
): Promise<{ readonly problems: readonly Problem[] }> {
  const requested = await requestReplan(await requireViewer(), runId, form, today());
  if (!requested.ok) return { problems: requested.problems };
  revalidatePath("/plans");
  redirect(`/plans/${requested.value.runId}`);
}
