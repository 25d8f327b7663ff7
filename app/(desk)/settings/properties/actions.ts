"use server";

import { revalidatePath } from "next/cache";
import type { FormAnswer } from "@/app/_components/checked-form";
import { entriesOf } from "@/app/_lib/entries";
import { today } from "@/app/_lib/today";
import { requireViewer } from "@/app/_lib/viewer";
import { answerOf } from "@/app/(desk)/settings/_lib/answer";
import {
  addWaterTest,
  removeWaterTest,
  saveBuilding,
  saveProperty,
} from "@/lib/services/settings-properties";

export async function editProperty(propertyId: string, form: FormData): Promise<FormAnswer> {
  const outcome = await saveProperty(await requireViewer(), propertyId, entriesOf(form));
  revalidatePath("/settings", "layout");
  return answerOf(outcome);
}

export async function editBuilding(buildingId: string, form: FormData): Promise<FormAnswer> {
  const outcome = await saveBuilding(await requireViewer(), buildingId, entriesOf(form));
  revalidatePath("/settings", "layout");
  return answerOf(outcome);
}

export async function recordWaterTest(propertyId: string, form: FormData): Promise<FormAnswer> {
  const viewer = await requireViewer();
  const outcome = await addWaterTest(viewer, propertyId, entriesOf(form), today());
  revalidatePath("/settings", "layout");
  return answerOf(outcome);
}

export async function dropWaterTest(propertyId: string, testId: string): Promise<FormAnswer> {
  const viewer = await requireViewer();
  const outcome = await removeWaterTest(viewer, propertyId, testId, today());
  revalidatePath("/settings", "layout");
  return answerOf(outcome);
}
