import { z } from "zod";
import { today } from "@/app/_lib/today";
import { maybeViewer } from "@/app/_lib/viewer";
import { exportLog, LOG_FORMATS } from "@/lib/services/settings-log";

/** The log of changes as a file, streamed. */
export async function GET(request: Request): Promise<Response> {
  const viewer = await maybeViewer();
  if (!viewer) return new Response("Sign in first.\n", { status: 401 });
  const format = z
    .enum(LOG_FORMATS)
    .catch("csv")
    .parse(new URL(request.url).searchParams.get("format"));
  const lines = exportLog(viewer, format);
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
  const type = format === "csv" ? "text/csv" : "application/x-ndjson";
  return new Response(body, {
    headers: {
      "content-type": `${type}; charset=utf-8`,
      "content-disposition": `attachment; filename="log-of-changes-${today()}.${format}"`,
      "cache-control": "no-store",
    },
  });
}
