import { notFound } from "next/navigation";
import { type RoundView, readRound } from "@/lib/services/rounds";
import { ServiceError } from "@/lib/services/service-error";
import type { Viewer } from "@/lib/services/viewer";

/** A round, or the page that says that there is none. */
export async function findRoundOrStop(viewer: Viewer, id: string): Promise<RoundView> {
  try {
    return await readRound(viewer, id);
  } catch (error) {
    if (error instanceof ServiceError && error.code === "not-found") notFound();
    throw error;
  }
}
