import { baseUrlOf } from "@/app/_lib/base-url";
import { maybeViewer } from "@/app/_lib/viewer";
import { readRoundCalendar } from "@/lib/services/calendar-feeds";
import { ServiceError } from "@/lib/services/service-error";

/** One round as a calendar file. */
export async function GET(
  request: Request,
  { params }: { readonly params: Promise<{ readonly id: string }> },
): Promise<Response> {
  const viewer = await maybeViewer();
  if (!viewer) return new Response("Sign in first.", { status: 401 });
  try {
    const { id } = await params;
    return new Response(await readRoundCalendar(viewer, id, baseUrlOf(request)), {
      headers: {
        "content-type": "text/calendar; charset=utf-8",
        "content-disposition": 'attachment; filename="round.ics"',
        "cache-control": "no-store",
      },
    });
  } catch (error) {
    if (error instanceof ServiceError) {
      return new Response(error.userMessage, { status: error.httpStatus });
    }
    throw error;
  }
}
