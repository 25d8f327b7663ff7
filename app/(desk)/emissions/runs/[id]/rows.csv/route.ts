import { downloadText } from "@/app/_lib/download";
import { maybeViewer } from "@/app/_lib/viewer";
import { accountCsv } from "@/lib/services/emissions-export";

/** The rows of a kept account, written while they are read. */
export async function GET(
  _request: Request,
  { params }: { readonly params: Promise<{ readonly id: string }> },
): Promise<Response> {
  const viewer = await maybeViewer();
  if (!viewer) return new Response("Sign in first.\n", { status: 401 });
  const lines = await accountCsv(viewer, (await params).id);
  if (!lines) return new Response("There is no such account.\n", { status: 404 });
  return downloadText(lines, { fileName: "emissions-account-rows.csv" });
}
