import { maybeViewer } from "@/app/_lib/viewer";
import { readImportProgress } from "@/lib/services/bring-in";

export const dynamic = "force-dynamic";

/** Where the work on a file stands, asked for every second or so while it is under way. */
export async function GET(
  _request: Request,
  { params }: { readonly params: Promise<{ readonly id: string }> },
): Promise<Response> {
  const viewer = await maybeViewer();
  if (!viewer) return new Response("Sign in first.\n", { status: 401 });
  const progress = await readImportProgress(viewer, (await params).id);
  if (!progress) return new Response("There is no such file here.\n", { status: 404 });
  return Response.json(progress, { headers: { "cache-control": "no-store" } });
}
