import { today } from "@/app/_lib/today";
import { maybeViewer } from "@/app/_lib/viewer";
import { exportOrganization } from "@/lib/services/organization-export";
import { ServiceError } from "@/lib/services/service-error";

/** The organization's whole record as JSON lines, written while it is read. */
export async function GET(): Promise<Response> {
  const viewer = await maybeViewer();
  if (!viewer) return new Response("Sign in first.", { status: 401 });
  try {
    const lines = exportOrganization(viewer, new Date());
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
        "content-type": "application/x-ndjson; charset=utf-8",
        "content-disposition": `attachment; filename="record-${today()}.jsonl"`,
        "cache-control": "no-store",
      },
    });
  } catch (error) {
    if (!(error instanceof ServiceError)) throw error;
    return new Response(error.userMessage, { status: error.httpStatus });
  }
}
