"use server";

import { revalidatePath } from "next/cache";
import { redirect } from "next/navigation";
import type { FormAnswer } from "@/app/_components/checked-form";
import { answerOf } from "@/app/_lib/answer";
import { entriesOf } from "@/app/_lib/entries";
import { today } from "@/app/_lib/today";
import { requireViewer } from "@/app/_lib/viewer";
import { parseWith } from "@/lib/core/shared/validation";
import { cancelAccount, reproduceAccount, requestAccount } from "@/lib/services/emissions";
import { accountRequestSchema } from "@/lib/services/emissions-forms";

export async function computeAccount(form: FormData): Promise<FormAnswer> {
  const viewer = await requireViewer();
  const parsed = parseWith(accountRequestSchema, entriesOf(form));
  const asked = parsed.ok ? await requestAccount(viewer, parsed.value, today()) : parsed;
  if (!asked.ok) return answerOf(asked);
  revalidatePath("/emissions", "layout");
  redirect("/emissions");
}

export async function stopAccount(runId: string): Promise<FormAnswer> {
  const outcome = await cancelAccount(await requireViewer(), runId);
  revalidatePath("/emissions", "layout");
  return answerOf(outcome);
}

/** What computing an account again from its own rows found. */
export type CheckAnswer = { readonly sentence: string; readonly isGood: boolean } | null;

export async function checkAccount(runId: string): Promise<CheckAnswer> {
  const found = await reproduceAccount(await requireViewer(), runId);
  if (!found) return { sentence: "There is no such account.", isGood: false };
  const rows = new Intl.NumberFormat("en-US").format(found.entries);
  return found.reproduces
    ? {
        sentence: `Computed again from its ${rows} rows and the factors kept with them: the same totals to the gram, the same fingerprint.`,
        isGood: true,
      }
    : {
        sentence: `Computed again from its ${rows} rows it does not come out the same: totals differ by up to ${found.largestDifferenceKg.toFixed(3)} kg, the fingerprint is ${found.fingerprint.slice(0, 12)}. Make a new account and ask for help.`,
        isGood: false,
      };
}
