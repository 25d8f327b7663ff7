import { downloadText } from "@/app/_lib/download";
import { maybeViewer } from "@/app/_lib/viewer";
import { readScheduleCsv } from "@/lib/services/plan-pages";

export const dynamic = "force-dynamic";

/** The schedule of a plan as a CSV file. */
export async function GET(
  _request: Request,
  { params }: { readonly params: Promise<{ readonly id: string }> },
): Promise<Response> {
  const viewer = await maybeViewer();
  if (!viewer) return new Response("Sign in first.\n", { status: 401 });
  const file = await readScheduleCsv(viewer, (await params).id);
  if (!file) return new Response("There is no such plan.\n", { status: 404 });
  return downloadText(file.parts, { fileName: file.fileName });
}
