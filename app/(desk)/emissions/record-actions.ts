"use server";

import { revalidatePath } from "next/cache";
import type { FormAnswer } from "@/app/_components/checked-form";
import { answerOf } from "@/app/_lib/answer";
import { entriesOf } from "@/app/_lib/entries";
import { today } from "@/app/_lib/today";
import { requireViewer } from "@/app/_lib/viewer";
import type { Outcome } from "@/lib/core/shared/outcome";
import { recordDisposal } from "@/lib/services/emissions-ledger";
import { addPolicy, removePolicy } from "@/lib/services/emissions-policies";
import {
  addContract,
  addFactor,
  adoptBaseYear,
  removeContract,
  saveTerms,
  withdrawFactor,
} from "@/lib/services/emissions-records";
import { addRefrigerantEntry, removeRefrigerantEntry } from "@/lib/services/emissions-refrigerant";
import { addReading, removeReading, savePropertyEnergy } from "@/lib/services/energy";

/** Shows the record anew and answers the form. */
function done(outcome: Outcome<null>): FormAnswer {
  if (outcome.ok) revalidatePath("/emissions", "layout");
  return answerOf(outcome);
}

export async function enterContract(form: FormData): Promise<FormAnswer> {
  return done(await addContract(await requireViewer(), entriesOf(form)));
}

export async function dropContract(id: string): Promise<FormAnswer> {
  return done(await removeContract(await requireViewer(), id));
}

export async function enterFactor(form: FormData): Promise<FormAnswer> {
  return done(await addFactor(await requireViewer(), entriesOf(form)));
}

export async function changeFactor(id: string, isWithdrawn: boolean): Promise<FormAnswer> {
  return done(await withdrawFactor(await requireViewer(), id, isWithdrawn));
}

export async function enterTerms(form: FormData): Promise<FormAnswer> {
  return done(await saveTerms(await requireViewer(), entriesOf(form)));
}

export async function enterPropertyEnergy(propertyId: string, form: FormData): Promise<FormAnswer> {
  return done(await savePropertyEnergy(await requireViewer(), propertyId, entriesOf(form)));
}

export async function enterReading(form: FormData): Promise<FormAnswer> {
  return done(await addReading(await requireViewer(), entriesOf(form)));
}

export async function dropReading(id: string): Promise<FormAnswer> {
  return done(await removeReading(await requireViewer(), id));
}

export async function enterDisposal(form: FormData): Promise<FormAnswer> {
  return done(await recordDisposal(await requireViewer(), entriesOf(form)));
}

export async function enterRefrigerant(form: FormData): Promise<FormAnswer> {
  return done(await addRefrigerantEntry(await requireViewer(), entriesOf(form), today()));
}

export async function dropRefrigerant(id: string): Promise<FormAnswer> {
  return done(await removeRefrigerantEntry(await requireViewer(), id));
}

export async function enterPolicy(form: FormData): Promise<FormAnswer> {
  return done(await addPolicy(await requireViewer(), entriesOf(form)));
}

export async function dropPolicy(id: string): Promise<FormAnswer> {
  return done(await removePolicy(await requireViewer(), id));
}

export async function adoptBase(runId: string): Promise<FormAnswer> {
  return done(await adoptBaseYear(await requireViewer(), runId, today()));
}
