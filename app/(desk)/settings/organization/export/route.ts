import { downloadText } from "@/app/_lib/download";
import { today } from "@/app/_lib/today";
import { maybeViewer } from "@/app/_lib/viewer";
import { exportOrganization } from "@/lib/services/organization-export";
import { ServiceError } from "@/lib/services/service-error";

/** The organization's whole record as JSON lines, written while it is read. */
export async function GET(): Promise<Response> {
  const viewer = await maybeViewer();
  if (!viewer) return new Response("Sign in first.", { status: 401 });
  try {
    return downloadText(exportOrganization(viewer, new Date()), {
      fileName: `record-${today()}.jsonl`,
      contentType: "application/x-ndjson",
    });
  } catch (error) {
    if (!(error instanceof ServiceError)) throw error;
    return new Response(error.userMessage, { status: error.httpStatus });
  }
}
