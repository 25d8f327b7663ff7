"use server";

import { headers } from "next/headers";
import { redirect } from "next/navigation";
import type { FormAnswer } from "@/app/_components/checked-form";
import { entriesOf } from "@/app/_lib/entries";
import { requireViewer } from "@/app/_lib/viewer";
import { answerOf } from "@/app/(desk)/settings/_lib/answer";
import { changeOwnPassword } from "@/lib/services/settings-own-sign-in";

export async function changePassword(form: FormData): Promise<FormAnswer> {
  await requireViewer();
  const outcome = await changeOwnPassword(entriesOf(form), await headers());
  if (!outcome.ok) return answerOf(outcome);
  // The change began a new session, which only a new request carries.
  redirect("/settings/password?changed=yes");
}
