"use server";

import { revalidatePath } from "next/cache";
import { redirect } from "next/navigation";
import { today } from "@/app/_lib/today";
import { requireViewer } from "@/app/_lib/viewer";
import { HEATER_FORM_FIELDS, type HeaterFormText } from "@/lib/core/heaters/heater-form";
import { RETIREMENT_FORM_FIELDS } from "@/lib/core/heaters/retirement-form";
import type { Problem } from "@/lib/core/shared/outcome";
import {
  addHeater,
  editHeater,
  listPlaces,
  reinstateHeater,
  retireHeater,
  SUCCESSOR_PREFIX,
} from "@/lib/services/heaters";

export type HeaterFormState = {
  readonly problems: readonly Problem[];
  /** The record as it is now, when somebody else has changed it since the form was opened. */
  readonly conflict: { readonly version: number; readonly theirs: HeaterFormText } | null;
};

export async function saveNewHeater(
  _before: HeaterFormState,
  form: FormData,
): Promise<HeaterFormState> {
  const result = await addHeater(await requireViewer(), formTexts(form), today());
  if (!result.ok) return { problems: result.problems, conflict: null };
  redirect(`/heaters/${result.value}`);
}

export async function saveHeater(
  id: string,
  _before: HeaterFormState,
  form: FormData,
): Promise<HeaterFormState> {
  const version = Number(form.get("version"));
  const result = await editHeater(await requireViewer(), id, version, formTexts(form), today());
  if (!result.ok) return { problems: result.problems, conflict: null };
  if (result.value.kind === "conflict") {
    const { version: now, theirs } = result.value;
    return { problems: [], conflict: { version: now, theirs } };
  }
  redirect(`/heaters/${id}`);
}

export type RetireState = { readonly problems: readonly Problem[] };

export async function saveRetirement(
  id: string,
  _before: RetireState,
  form: FormData,
): Promise<RetireState> {
  const end = Object.fromEntries(
    RETIREMENT_FORM_FIELDS.map((field) => [field, String(form.get(field) ?? "")]),
  );
  const result = await retireHeater(
    await requireViewer(),
    id,
    {
      version: Number(form.get("version")),
      end,
      successor: form.get("hasSuccessor") === "yes" ? formTexts(form, SUCCESSOR_PREFIX) : null,
    },
    today(),
  );
  if (!result.ok) return { problems: result.problems };
  redirect(`/heaters/${result.value.successorId ?? id}`);
}

export async function putBackInService(id: string): Promise<void> {
  await reinstateHeater(await requireViewer(), id, today());
  revalidatePath(`/heaters/${id}`);
}

/** Buildings of a property, for a form whose property was changed. */
export async function buildingsOf(
  propertyId: string,
): Promise<readonly { readonly id: string; readonly name: string }[]> {
  return (await listPlaces(await requireViewer(), propertyId)).buildings;
}

function formTexts(form: FormData, prefix = ""): Record<string, string> {
  return Object.fromEntries(
    HEATER_FORM_FIELDS.map((field) => [field, String(form.get(`${prefix}${field}`) ?? "")]),
  );
}
