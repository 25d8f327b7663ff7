"use server";

import { cookies, headers } from "next/headers";
import { redirect } from "next/navigation";
import { endSession } from "@/lib/services/sign-in";

export async function signOut(): Promise<void> {
  await endSession(await headers());
  redirect("/sign-in");
}

const YEAR_SECONDS = 365 * 24 * 60 * 60;

/** Light or dark on this device, whatever the device prefers. */
export async function chooseTheme(form: FormData): Promise<void> {
  const theme = form.get("theme") === "dark" ? "dark" : "light";
  (await cookies()).set("tanklore-theme", theme, {
    httpOnly: true,
    sameSite: "lax",
    maxAge: YEAR_SECONDS,
    path: "/",
  });
}
