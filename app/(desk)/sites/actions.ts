"use server";

import { revalidatePath } from "next/cache";
import type { FormAnswer } from "@/app/_components/checked-form";
import { answerOf } from "@/app/_lib/answer";
import { today } from "@/app/_lib/today";
import { requireViewer } from "@/app/_lib/viewer";
import { saveEmergencyTerms } from "@/lib/services/emergency-card";
import { saveHeadroom } from "@/lib/services/headroom";
import { savePlant } from "@/lib/services/sites-plant";
import { saveSparesTerms } from "@/lib/services/spares";
import { copySurvey, saveSurvey, takeBackCopy } from "@/lib/services/survey";
import { removeSurveyPhoto } from "@/lib/services/survey-photos";

/** Keeps what was seen at a heater. */
export async function recordSurvey(heaterId: string, entry: unknown): Promise<FormAnswer> {
  const outcome = await saveSurvey(await requireViewer(), heaterId, entry, today());
  revalidatePath("/sites", "layout");
  return answerOf(outcome);
}

export type CopyAnswer = FormAnswer & {
  readonly made: { readonly heaters: number; readonly answers: number } | null;
};

/** Carries answers over to like homes. */
export async function carryAnswers(input: unknown): Promise<CopyAnswer> {
  const outcome = await copySurvey(await requireViewer(), input);
  revalidatePath("/sites", "layout");
  return { ...answerOf(outcome), made: outcome.ok ? outcome.value : null };
}

export async function undoCarrying(inferenceId: string): Promise<FormAnswer> {
  const outcome = await takeBackCopy(await requireViewer(), inferenceId);
  revalidatePath("/sites", "layout");
  return answerOf(outcome);
}

export async function dropPhoto(photoId: string): Promise<FormAnswer> {
  const outcome = await removeSurveyPhoto(await requireViewer(), photoId);
  revalidatePath("/sites", "layout");
  return answerOf(outcome);
}

/** Keeps how a building's headroom was worked out. */
export async function keepHeadroom(buildingId: string, input: unknown): Promise<FormAnswer> {
  const outcome = await saveHeadroom(await requireViewer(), buildingId, input);
  revalidatePath("/sites", "layout");
  return answerOf(outcome);
}

/** Keeps a building's central plant. */
export async function keepPlant(buildingId: string, input: unknown): Promise<FormAnswer> {
  const outcome = await savePlant(await requireViewer(), buildingId, input);
  revalidatePath("/sites", "layout");
  return answerOf(outcome);
}

/** Keeps what is approved for failures and whom to call. */
export async function keepEmergencyTerms(input: unknown): Promise<FormAnswer> {
  const outcome = await saveEmergencyTerms(await requireViewer(), input, today());
  revalidatePath("/sites", "layout");
  return answerOf(outcome);
}

/** Keeps lead times, stock and the chance asked. */
export async function keepSpares(input: unknown): Promise<FormAnswer> {
  const outcome = await saveSparesTerms(await requireViewer(), input);
  revalidatePath("/sites", "layout");
  return answerOf(outcome);
}
