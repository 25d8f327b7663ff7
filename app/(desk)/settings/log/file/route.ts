import { z } from "zod";
import { downloadText } from "@/app/_lib/download";
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
  return downloadText(exportLog(viewer, format), {
    fileName: `log-of-changes-${today()}.${format}`,
    contentType: format === "csv" ? "text/csv" : "application/x-ndjson",
  });
}
