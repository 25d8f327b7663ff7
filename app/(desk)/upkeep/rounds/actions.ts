"use server";

import { revalidatePath } from "next/cache";
import { redirect } from "next/navigation";
import type { FormAnswer } from "@/app/_components/checked-form";
import { answerOf } from "@/app/_lib/answer";
import { entriesOf } from "@/app/_lib/entries";
import { today } from "@/app/_lib/today";
import { requireViewer } from "@/app/_lib/viewer";
import type { Outcome } from "@/lib/core/shared/outcome";
import type { RoundRequest } from "@/lib/services/round-form";
import {
  assignRound,
  cancelRound,
  createRounds,
  endRound,
  moveRound,
  noteNotices,
  reopenRound,
  reorderRound,
  saveHomeAccess,
} from "@/lib/services/rounds";
import { requestOf } from "./_lib/request";

export async function makeRounds(address: string): Promise<FormAnswer> {
  const request: RoundRequest = requestOf(new URLSearchParams(address));
  const outcome = await createRounds(await requireViewer(), request, today());
  if (!outcome.ok) return answerOf(outcome);
  revalidatePath("/upkeep", "layout");
  redirect(outcome.value.length === 1 ? `/upkeep/rounds/${outcome.value[0]}` : "/upkeep/rounds");
}

async function answer(change: Promise<Outcome<null>>): Promise<FormAnswer> {
  const outcome = await change;
  if (outcome.ok) revalidatePath("/upkeep", "layout");
  return answerOf(outcome);
}

const text = (form: FormData, name: string) => String(form.get(name) ?? "");

export async function assign(roundId: string, form: FormData): Promise<FormAnswer> {
  return answer(assignRound(await requireViewer(), roundId, text(form, "person")));
}

export async function move(roundId: string, form: FormData): Promise<FormAnswer> {
  return answer(moveRound(await requireViewer(), roundId, text(form, "day")));
}

export async function cancel(roundId: string): Promise<FormAnswer> {
  return answer(cancelRound(await requireViewer(), roundId));
}

export async function reopen(roundId: string): Promise<FormAnswer> {
  return answer(reopenRound(await requireViewer(), roundId));
}

export async function end(roundId: string): Promise<FormAnswer> {
  return answer(endRound(await requireViewer(), roundId));
}

export async function reorder(roundId: string): Promise<FormAnswer> {
  return answer(reorderRound(await requireViewer(), roundId));
}

export async function giveNotices(roundId: string, given: boolean): Promise<FormAnswer> {
  return answer(noteNotices(await requireViewer(), roundId, given ? today() : null));
}

export async function saveAccess(form: FormData): Promise<FormAnswer> {
  return answer(saveHomeAccess(await requireViewer(), entriesOf(form)));
}
