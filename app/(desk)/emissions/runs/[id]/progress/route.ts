import { streamProgress } from "@/app/_lib/progress-stream";
import { maybeViewer } from "@/app/_lib/viewer";
import { readAccountProgress } from "@/lib/services/emissions";

export const dynamic = "force-dynamic";

/** Streams how far an account is. */
export async function GET(
  request: Request,
  { params }: { readonly params: Promise<{ readonly id: string }> },
): Promise<Response> {
  const viewer = await maybeViewer();
  if (!viewer) return new Response("Sign in first.\n", { status: 401 });
  const { id } = await params;
  return streamProgress(request, () => readAccountProgress(viewer, id));
}
