"use server";

import { revalidatePath } from "next/cache";
import { redirect } from "next/navigation";
import { today } from "@/app/_lib/today";
import { requireViewer } from "@/app/_lib/viewer";
import type { Problem } from "@/lib/core/shared/outcome";
import { saveOption } from "@/lib/services/option-catalogue";
import { cancelRun, requestRun } from "@/lib/services/plan-requests";
import type { ScenarioFormValues } from "@/lib/services/scenario-form";
import { saveScenario } from "@/lib/services/scenarios";

export type FormState = { readonly problems: readonly Problem[] };

/** Stores the scenario and, when asked for, computes its plan; goes on to where the result shows. */
export async function submitScenario(
  at: { readonly id: string; readonly version: number } | null,
  values: ScenarioFormValues,
  thenRun: boolean,
): Promise<FormState> {
  const viewer = await requireViewer();
  const saved = await saveScenario(viewer, at, values, today());
  if (!saved.ok) return { problems: saved.problems };
  revalidatePath("/plans");
  if (!thenRun) redirect("/plans");
  const requested = await requestRun(viewer, saved.value.id, today());
  if (!requested.ok) return { problems: requested.problems };
  redirect(`/plans/${requested.value.runId}`);
}

/** Asks for another run of a scenario and goes to it. */
export async function runScenario(_before: FormState, form: FormData): Promise<FormState> {
  const viewer = await requireViewer();
  const requested = await requestRun(viewer, String(form.get("scenarioId") ?? ""), today());
  if (!requested.ok) return { problems: requested.problems };
  revalidatePath("/plans");
  redirect(`/plans/${requested.value.runId}`);
}

export async function stopRun(_before: FormState, form: FormData): Promise<FormState> {
  const viewer = await requireViewer();
  const runId = String(form.get("runId") ?? "");
  const cancelled = await cancelRun(viewer, runId);
  revalidatePath(`/plans/${runId}`);
  return { problems: cancelled.ok ? [] : cancelled.problems };
}

export async function submitOption(code: string, input: unknown): Promise<FormState> {
  const viewer = await requireViewer();
  const saved = await saveOption(viewer, code, input);
  if (!saved.ok) return { problems: saved.problems };
  revalidatePath("/plans/options");
  redirect("/plans/options");
}
