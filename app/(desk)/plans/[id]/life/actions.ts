"use server";

import { revalidatePath } from "next/cache";
import { today } from "@/app/_lib/today";
import { requireViewer } from "@/app/_lib/viewer";
import type { Problem } from "@/lib/core/shared/outcome";
import {
  actOnLines,
  approvePlan,
  type LineActForm,
  type PlanRecheck,
  recheckPlan,
  withdrawPlan,
} from "@/lib/services/plan-life";

export type ActState = { readonly problems: readonly Problem[]; readonly said: string | null };

export async function submitApproval(
  runId: string,
  version: number,
  what: "approve" | "withdraw",
): Promise<ActState> {
  const viewer = await requireViewer();
  const result =
    what === "approve"
      ? await approvePlan(viewer, runId, version)
      : await withdrawPlan(viewer, runId, version);
  if (!result.ok) return { problems: result.problems, said: null };
  revalidatePath("/plans", "layout");
  return {
    problems: [],
    said: what === "approve" ? "The plan is in force." : "The plan is withdrawn.",
  };
}

export type RecheckState = {
  readonly problems: readonly Problem[];
  readonly recheck: PlanRecheck | null;
};

export async function submitRecheck(runId: string): Promise<RecheckState> {
  const result = await recheckPlan(await requireViewer(), runId);
  return result.ok
    ? { problems: [], recheck: result.value }
    : { problems: result.problems, recheck: null };
}

export async function submitLines(runId: string, form: LineActForm): Promise<ActState> {
  const result = await actOnLines(await requireViewer(), runId, form, today());
  if (!result.ok) return { problems: result.problems, said: null };
  revalidatePath(`/plans/${runId}/life`);
  const { changed } = result.value;
  return { problems: [], said: `${changed} ${changed === 1 ? "line" : "lines"} changed.` };
}
