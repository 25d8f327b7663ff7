"use server";

import { revalidatePath } from "next/cache";
import { redirect } from "next/navigation";
import { z } from "zod";
import { today } from "@/app/_lib/today";
import { requireViewer } from "@/app/_lib/viewer";
import { columnMappingSchema } from "@/lib/core/exchange/column-mapping";
import { isCalendarDay } from "@/lib/core/shared/calendar-day";
import type { Outcome, Problem } from "@/lib/core/shared/outcome";
import { parseWith } from "@/lib/core/shared/validation";
import {
  checkBatch,
  commitBatch,
  discardImport,
  resumeWork,
  undoImport,
} from "@/lib/services/bring-in";

export type ActionState = { readonly problems: readonly Problem[] };

/** Keeps how the columns are read and goes on to the preview. */
export async function saveMatching(batchId: string, input: unknown): Promise<ActionState> {
  const viewer = await requireViewer();
  const mapping = parseWith(columnMappingSchema, input);
  if (!mapping.ok) return { problems: mapping.problems };
  return goOn(await checkBatch(viewer, batchId, mapping.value, today()), `/import/${batchId}`);
}

const optionsSchema = z.object({
  allOrNothing: z.boolean(),
  endsOnRecordSince: z
    .string()
    .refine((text) => text === "" || isCalendarDay(text), "give the day as year-month-day")
    .transform((text) => (isCalendarDay(text) ? text : null)),
});

/** Brings a file that was looked at into the record. */
export async function bringIn(batchId: string, input: unknown): Promise<ActionState> {
  const viewer = await requireViewer();
  const options = parseWith(optionsSchema, input);
  if (!options.ok) return { problems: options.problems };
  return goOn(await commitBatch(viewer, batchId, options.value, today()), `/import/${batchId}`);
}

/** Takes a whole file out of the record again. */
export async function undoFile(batchId: string): Promise<ActionState> {
  return goOn(await undoImport(await requireViewer(), batchId, today()), `/import/${batchId}`);
}

/** Starts work on a file again that has given no sign of life. */
export async function resumeFile(batchId: string): Promise<ActionState> {
  return goOn(await resumeWork(await requireViewer(), batchId, today()), `/import/${batchId}`);
}

/** Puts a file aside that was not brought in. */
export async function discardFile(batchId: string): Promise<ActionState> {
  return goOn(await discardImport(await requireViewer(), batchId), "/import");
}

function goOn(outcome: Outcome<null>, path: string): ActionState {
  if (!outcome.ok) return { problems: outcome.problems };
  // Heaters, risks and counts on every page may be others now.
  revalidatePath("/", "layout");
  redirect(path);
}
