import { maybeViewer } from "@/app/_lib/viewer";
import { readChangesCsv } from "@/lib/services/plan-replan";

export const dynamic = "force-dynamic";

/** What the plan changed of the one it was made around, as a CSV file. */
export async function GET(
  _request: Request,
  { params }: { readonly params: Promise<{ readonly id: string }> },
): Promise<Response> {
  const viewer = await maybeViewer();
  if (!viewer) return new Response("Sign in first.\n", { status: 401 });
  const file = await readChangesCsv(viewer, (await params).id);
  if (!file) return new Response("There is no such plan.\n", { status: 404 });
  const encoder = new TextEncoder();
  const parts = file.parts[Symbol.iterator]();
  const body = new ReadableStream<Uint8Array>({
    pull(controller) {
      const next = parts.next();
      if (next.done) controller.close();
      else controller.enqueue(encoder.encode(next.value));
    },
  });
  return new Response(body, {
    headers: {
      "content-type": "text/csv; charset=utf-8",
      "content-disposition": `attachment; filename*=UTF-8''${encodeURIComponent(file.fileName)}`,
      "cache-control": "private, no-store",
    },
  });
}
