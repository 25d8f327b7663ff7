"use server";

import { revalidatePath } from "next/cache";
import { redirect } from "next/navigation";
import { today } from "@/app/_lib/today";
import { requireViewer } from "@/app/_lib/viewer";
import type { Outcome, Problem } from "@/lib/core/shared/outcome";
import { adoptModel, cancelFit, requestBackTest, requestFit } from "@/lib/services/risk-fits";

export type ActionState = { readonly problems: readonly Problem[] };

/** Asks for a fit and goes to it. */
export async function startFit(_before: ActionState, _form: FormData): Promise<ActionState> {
  const viewer = await requireViewer();
  const requested = await requestFit(viewer, today());
  if (!requested.ok) return { problems: requested.problems };
  revalidatePath("/risk", "layout");
  redirect(`/risk/fits/${requested.value.fitId}`);
}

export async function stopFit(_before: ActionState, form: FormData): Promise<ActionState> {
  return settled(await cancelFit(await requireViewer(), fitOf(form)));
}

/** Takes a fit into use; without a fit, published lifetimes. */
export async function adopt(_before: ActionState, form: FormData): Promise<ActionState> {
  return settled(await adoptModel(await requireViewer(), fitOf(form) || null, today()));
}

export async function testAgain(_before: ActionState, form: FormData): Promise<ActionState> {
  return settled(await requestBackTest(await requireViewer(), fitOf(form)));
}

const fitOf = (form: FormData) => String(form.get("fitId") ?? "");

function settled(outcome: Outcome<null>): ActionState {
  revalidatePath("/risk", "layout");
  return { problems: outcome.ok ? [] : outcome.problems };
}
