"use server";

import { headers } from "next/headers";
import { redirect } from "next/navigation";
import type { FormAnswer } from "@/app/_components/checked-form";
import { entriesOf } from "@/app/_lib/entries";
import { choosePassword } from "@/lib/services/settings-people";
import { startSession } from "@/lib/services/sign-in";

export async function acceptInvitation(token: string, form: FormData): Promise<FormAnswer> {
  const entries = entriesOf(form);
  const outcome = await choosePassword(token, entries);
  if (!outcome.ok) return { problems: outcome.problems, isSaved: false };
  await startSession({ email: outcome.value, password: entries.password }, await headers());
  redirect("/");
}
