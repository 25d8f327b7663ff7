"use server";

import { revalidatePath } from "next/cache";
import type { FormAnswer } from "@/app/_components/checked-form";
import { entriesOf } from "@/app/_lib/entries";
import { requireViewer } from "@/app/_lib/viewer";
import { answerOf } from "@/app/(desk)/settings/_lib/answer";
import type { Outcome } from "@/lib/core/shared/outcome";
import {
  addPerson,
  changeRole,
  type PasswordLink,
  removePerson,
  renewLink,
} from "@/lib/services/settings-people";

/** As a form is answered, with the link to hand on, which is shown this once. */
export type LinkAnswer = FormAnswer & { readonly link: PasswordLink | null };

export async function invitePerson(form: FormData): Promise<LinkAnswer> {
  return linkAnswer(await addPerson(await requireViewer(), entriesOf(form)));
}

export async function makeNewLink(userId: string): Promise<LinkAnswer> {
  return linkAnswer(await renewLink(await requireViewer(), { userId }));
}

function linkAnswer(outcome: Outcome<PasswordLink>): LinkAnswer {
  revalidatePath("/settings", "layout");
  return { ...answerOf(outcome), link: outcome.ok ? outcome.value : null };
}

export async function giveRole(userId: string, role: string): Promise<FormAnswer> {
  const outcome = await changeRole(await requireViewer(), { userId, role });
  revalidatePath("/settings", "layout");
  return answerOf(outcome);
}

export async function dropPerson(userId: string): Promise<FormAnswer> {
  const outcome = await removePerson(await requireViewer(), { userId });
  revalidatePath("/settings", "layout");
  return answerOf(outcome);
}
