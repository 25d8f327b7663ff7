import { today } from "@/app/_lib/today";
import { maybeViewer } from "@/app/_lib/viewer";
import { rankingCsv, riskQuerySchema } from "@/lib/services/risk";

/** The ranking as a file, written while it is read, so that its length needs no memory. */
export async function GET(request: Request): Promise<Response> {
  const viewer = await maybeViewer();
  if (!viewer) return new Response("Sign in first.", { status: 401 });
  const search = new URL(request.url).searchParams;
  const query = riskQuerySchema.parse({
    order: search.get("order"),
    property: search.get("property"),
  });
  const day = today();
  const lines = rankingCsv(viewer, query, day);
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
      "content-disposition": `attachment; filename="failure-risk-by-${query.order}-${day}.csv"`,
      "cache-control": "no-store",
    },
  });
}
