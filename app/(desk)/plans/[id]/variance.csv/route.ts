import { downloadText } from "@/app/_lib/download";
import { maybeViewer } from "@/app/_lib/viewer";
import { readVarianceCsv } from "@/lib/services/plan-life";

export const dynamic = "force-dynamic";

/** Planned against actual, line by line, as a CSV file. */
export async function GET(
  _request: Request,
  { params }: { readonly params: Promise<{ readonly id: string }> },
): Promise<Response> {
  const viewer = await maybeViewer();
  if (!viewer) return new Response("Sign in first.\n", { status: 401 });
  const file = await readVarianceCsv(viewer, (await params).id);
  if (!file) return new Response("There is no such plan.\n", { status: 404 });
  return downloadText(file.parts, { fileName: file.fileName });
}
