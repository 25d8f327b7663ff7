import { z } from "zod";
import { today } from "@/app/_lib/today";
import { maybeViewer } from "@/app/_lib/viewer";
import { readRegisterQuery } from "@/lib/core/heaters/register-query";
import { streamRegisterCsv } from "@/lib/services/register";

const MOST_SELECTED = 20_000;

/** The filtered register as CSV; the ids of a selection come in the form. */
export async function POST(request: Request): Promise<Response> {
  const viewer = await maybeViewer();
  if (!viewer) return new Response("Sign in first.", { status: 401 });
  const { query } = readRegisterQuery(Object.fromEntries(new URL(request.url).searchParams));
  const selected = String((await request.formData()).get("ids") ?? "");
  const ids = z.array(z.guid()).max(MOST_SELECTED).safeParse(selected.split(" ").filter(Boolean));
  if (!ids.success) {
    return new Response(`A selection is at most ${MOST_SELECTED} heaters.`, { status: 422 });
  }
  const day = today();
  return new Response(
    streamRegisterCsv(viewer, query, day, ids.data.length > 0 ? ids.data : null),
    {
      headers: {
        "content-type": "text/csv; charset=utf-8",
        "content-disposition": `attachment; filename="heaters-${day}.csv"`,
        "cache-control": "no-store",
      },
    },
  );
}
