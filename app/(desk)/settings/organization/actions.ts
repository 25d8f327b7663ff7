"use server";

import { revalidatePath } from "next/cache";
import type { FormAnswer } from "@/app/_components/checked-form";
import { entriesOf } from "@/app/_lib/entries";
import { requireViewer } from "@/app/_lib/viewer";
import { answerOf } from "@/app/(desk)/settings/_lib/answer";
import { saveOrganization } from "@/lib/services/settings-organization";

export async function editOrganization(form: FormData): Promise<FormAnswer> {
  const outcome = await saveOrganization(await requireViewer(), entriesOf(form));
  revalidatePath("/", "layout");
  return answerOf(outcome);
}
