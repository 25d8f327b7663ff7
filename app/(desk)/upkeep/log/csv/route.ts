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
  const lines = workLogCsv(viewer, query, day);
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
      "content-disposition": `attachment; filename="work-log-${day}.csv"`,
      "cache-control": "no-store",
    },
  });
}
