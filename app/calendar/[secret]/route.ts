import { baseUrlOf } from "@/app/_lib/base-url";
import { today } from "@/app/_lib/today";
import { readCalendar } from "@/lib/services/calendar-feeds";

/** A person's calendar, for whoever has its secret address; the same answer for every wrong one. */
export async function GET(
  request: Request,
  { params }: { readonly params: Promise<{ readonly secret: string }> },
): Promise<Response> {
  const secret = (await params).secret.replace(/\.ics$/, "");
  const calendar = await readCalendar(secret, today(), baseUrlOf(request));
  if (calendar === null) return new Response("No calendar has this address.", { status: 404 });
  return new Response(calendar, {
    headers: {
      "content-type": "text/calendar; charset=utf-8",
      "content-disposition": 'inline; filename="upkeep.ics"',
      "cache-control": "private, no-store",
      "referrer-policy": "no-referrer",
      "x-robots-tag": "noindex",
    },
  });
}
