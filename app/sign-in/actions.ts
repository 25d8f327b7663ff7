"use server";

import { headers } from "next/headers";
import { redirect } from "next/navigation";
import type { Problem } from "@/lib/core/shared/outcome";
import { startSession } from "@/lib/services/sign-in";

export type SignInState = { readonly email: string; readonly problems: readonly Problem[] };

export async function signIn(_previous: SignInState, form: FormData): Promise<SignInState> {
  const email = String(form.get("email") ?? "");
  const password = String(form.get("password") ?? "");
  const result = await startSession({ email, password }, await headers());
  if (!result.ok) return { email, problems: result.problems };
  redirect("/");
}
