import { maybeViewer } from "@/app/_lib/viewer";
import { accountCsv } from "@/lib/services/emissions-export";

/** The rows of a kept account, written while they are read. */
export async function GET(
  _request: Request,
  { params }: { readonly params: Promise<{ readonly id: string }> },
): Promise<Response> {
  const viewer = await maybeViewer();
  if (!viewer) return new Response("Sign in first.\n", { status: 401 });
  const lines = await accountCsv(viewer, (await params).id);
  if (!lines) return new Response("There is no such account.\n", { status: 404 });
  const encoder = new TextEncoder();
  const body = new ReadableStream<Uint8Array>({
    async pull(controller) {
      const { value, done } = await lines.next();
      if (done) controller.close();
      else controller.enqueue(encoder.encode(value));
    },
    async cancel() {
      await lines.return(undefined);
    },
  });
  return new Response(body, {
    headers: {
      "content-type": "text/csv; charset=utf-8",
      "content-disposition": 'attachment; filename="emissions-account-rows.csv"',
      "cache-control": "no-store",
    },
  });
}
