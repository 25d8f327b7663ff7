import { downloadText } from "@/app/_lib/download";
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
  return downloadText(rankingCsv(viewer, query, day), {
    fileName: `failure-risk-by-${query.order}-${day}.csv`,
  });
}
