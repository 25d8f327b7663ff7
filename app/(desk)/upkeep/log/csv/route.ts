import { downloadText } from "@/app/_lib/download";
import { today } from "@/app/_lib/today";
import { maybeViewer } from "@/app/_lib/viewer";
import { workLogCsv, workLogQuerySchema } from "@/lib/services/work-log";

/** The work log as a file, written while it is read. */
export async function GET(request: Request): Promise<Response> {
  const viewer = await maybeViewer();
  if (!viewer) return new Response("Sign in first.", { status: 401 });
  const query = workLogQuerySchema.parse(
    Object.fromEntries(
      ["property", "person", "from", "to"].map((name) => [
        name,
        new URL(request.url).searchParams.get(name),
      ]),
    ),
  );
  const day = today();
  return downloadText(workLogCsv(viewer, query, day), { fileName: `work-log-${day}.csv` });
}
