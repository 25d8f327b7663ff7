import { maybeViewer } from "@/app/_lib/viewer";
import { lineSelectionSchema, readPlanLines } from "@/lib/services/plan-pages";

export const dynamic = "force-dynamic";

/** Lines of a plan with their parts, for the rows that a reader opens. */
export async function GET(
  request: Request,
  { params }: { readonly params: Promise<{ readonly id: string }> },
): Promise<Response> {
  const viewer = await maybeViewer();
  if (!viewer) return Response.json({ message: "Sign in first." }, { status: 401 });
  const query = new URL(request.url).searchParams;
  const selection = lineSelectionSchema.safeParse(
    query.has("left")
      ? { left: true }
      : { buildingId: query.get("building"), period: query.get("period") },
  );
  if (!selection.success) {
    return Response.json({ message: "Name a building and a period." }, { status: 422 });
  }
  const lines = await readPlanLines(viewer, (await params).id, selection.data);
  if (!lines) return Response.json({ message: "There is no such plan." }, { status: 404 });
  return Response.json(lines, { headers: { "cache-control": "private, max-age=60" } });
}
