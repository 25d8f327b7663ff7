import "server-only";
import { headers } from "next/headers";
import { redirect } from "next/navigation";
import { cache } from "react";
import { type Viewer, viewerOf } from "@/lib/services/viewer";

const findViewer = cache(async (): Promise<Viewer | null> => viewerOf(await headers()));

/** The person looking at this page; nobody signed in is sent to the sign-in page. */
export async function requireViewer(): Promise<Viewer> {
  const viewer = await findViewer();
  if (!viewer) redirect("/sign-in");
  return viewer;
}

/** As {@link requireViewer}, where nobody may be signed in. */
export const maybeViewer = findViewer;
