"use server";

import { revalidatePath } from "next/cache";
import { today } from "@/app/_lib/today";
import { requireViewer } from "@/app/_lib/viewer";
import type { Problem } from "@/lib/core/shared/outcome";
import type { UrgentKind } from "@/lib/core/upkeep/urgent-matters";
import { recordTask, takeBackVisit } from "@/lib/services/upkeep";

export type RecordState = {
  readonly problems: readonly Problem[];
  /** The entry just made, so that it can be taken back. */
  readonly visitId: string | null;
  /** What the entry raised that cannot wait. */
  readonly urgent: readonly UrgentKind[];
};

export async function recordDone(_previous: RecordState, form: FormData): Promise<RecordState> {
  const viewer = await requireViewer();
  const text = (name: string) => String(form.get(name) ?? "");
  const result = await recordTask(
    viewer,
    {
      heaterId: text("heaterId"),
      task: text("task"),
      doneOn: text("doneOn"),
      finding: text("finding"),
      minutes: text("minutes"),
      partName: text("partName"),
      partDollars: text("partDollars"),
      paidDollars: text("paidDollars"),
      note: text("note"),
      idempotencyKey: text("idempotencyKey"),
    },
    today(),
  );
  if (!result.ok) return { problems: result.problems, visitId: null, urgent: [] };
  return { problems: [], ...result.value };
}

export async function undoDone(visitId: string): Promise<void> {
  await takeBackVisit(await requireViewer(), visitId, today());
  revalidatePath("/upkeep");
}

/** The list is read anew once the person has seen that the entry was kept. */
export async function refreshList(): Promise<void> {
  revalidatePath("/upkeep");
}
