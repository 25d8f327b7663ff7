"use server";

import { headers } from "next/headers";
import { redirect } from "next/navigation";
import { endSession } from "@/lib/services/sign-in";

export async function signOut(): Promise<void> {
  await endSession(await headers());
  redirect("/sign-in");
}
