"use server";

import { revalidatePath } from "next/cache";
import { redirect } from "next/navigation";
import { requireViewer } from "@/app/_lib/viewer";
import type { FormState } from "@/app/(desk)/plans/actions";
import { addOption } from "@/lib/services/option-catalogue";

/** Adds an option and goes on to its form. */
export async function startOption(_before: FormState, form: FormData): Promise<FormState> {
  const added = await addOption(await requireViewer(), String(form.get("from") ?? ""));
  if (!added.ok) return { problems: added.problems };
  revalidatePath("/plans/options");
  redirect(`/plans/options/${added.value.code}`);
}
