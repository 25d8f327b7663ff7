import { downloadText } from "@/app/_lib/download";
import { maybeViewer } from "@/app/_lib/viewer";
import { readRefusedCsv } from "@/lib/services/bring-in-pages";
import { ServiceError } from "@/lib/services/service-error";

export const dynamic = "force-dynamic";

/** The refused rows of a file with their reasons, as CSV. */
export async function GET(
  _request: Request,
  { params }: { readonly params: Promise<{ readonly id: string }> },
): Promise<Response> {
  const viewer = await maybeViewer();
  if (!viewer) return new Response("Sign in first.\n", { status: 401 });
  try {
    const { fileName, lines } = await readRefusedCsv(viewer, (await params).id);
    return downloadText(lines, { fileName });
  } catch (error) {
    if (!(error instanceof ServiceError)) throw error;
    return new Response(`${error.userMessage}\n`, { status: error.httpStatus });
  }
}
