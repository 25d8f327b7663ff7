import { maybeViewer } from "@/app/_lib/viewer";
import { readRefusedCsv } from "@/lib/services/bring-in-pages";
import { ServiceError } from "@/lib/services/service-error";

export const dynamic = "force-dynamic";

/** The refused rows of a file with their reasons, as CSV. */
export async function GET(
  _request: Request,
  { params }: { readonly params: Promise<{ readonly id: string }> },
): Promise<Response> {
  const viewer = await maybeViewer();
  if (!viewer) return new Response("Sign in first.\n", { status: 401 });
  try {
    const { fileName, lines } = await readRefusedCsv(viewer, (await params).id);
    const encoder = new TextEncoder();
    const body = new ReadableStream<Uint8Array>({
      async pull(controller) {
        const next = await lines.next();
        if (next.done) controller.close();
        else controller.enqueue(encoder.encode(next.value));
      },
      async cancel() {
        await lines.return(undefined);
      },
    });
    return new Response(body, {
      headers: {
        "content-type": "text/csv; charset=utf-8",
        "content-disposition": `attachment; filename*=UTF-8''${encodeURIComponent(fileName)}`,
        "cache-control": "private, no-store",
      },
    });
  } catch (error) {
    if (!(error instanceof ServiceError)) throw error;
    return new Response(`${error.userMessage}\n`, { status: error.httpStatus });
  }
}
