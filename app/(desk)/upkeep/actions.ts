"use server";

import { revalidatePath } from "next/cache";
import { today } from "@/app/_lib/today";
import { requireViewer } from "@/app/_lib/viewer";
import type { Problem } from "@/lib/core/shared/outcome";
import { recordTask, takeBackVisit } from "@/lib/services/upkeep";

export type RecordState = {
  readonly problems: readonly Problem[];
  /** The entry just made, so that it can be taken back. */
  readonly visitId: string | null;
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
      note: text("note"),
      idempotencyKey: text("idempotencyKey"),
    },
    today(),
  );
  if (!result.ok) return { problems: result.problems, visitId: null };
  return { problems: [], visitId: result.value.visitId };
}

export async function undoDone(visitId: string): Promise<void> {
  await takeBackVisit(await requireViewer(), visitId);
  revalidatePath("/upkeep");
}

/** The list is read anew once the person has seen that the entry was kept. */
export async function refreshList(): Promise<void> {
  revalidatePath("/upkeep");
}
