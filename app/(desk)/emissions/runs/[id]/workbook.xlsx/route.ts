import { maybeViewer } from "@/app/_lib/viewer";
import { accountWorkbook } from "@/lib/services/emissions-export";

/** The auditor's workbook of a kept account. */
export async function GET(
  _request: Request,
  { params }: { readonly params: Promise<{ readonly id: string }> },
): Promise<Response> {
  const viewer = await maybeViewer();
  if (!viewer) return new Response("Sign in first.\n", { status: 401 });
  const made = await accountWorkbook(viewer, (await params).id);
  if (!made) return new Response("There is no such account.\n", { status: 404 });
  return new Response(new Uint8Array(made.file), {
    headers: {
      "content-type": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
      "content-disposition": `attachment; filename="emissions-account-${made.year}.xlsx"`,
      "cache-control": "no-store",
    },
  });
}
