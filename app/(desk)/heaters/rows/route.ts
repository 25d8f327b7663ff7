import { today } from "@/app/_lib/today";
import { maybeViewer } from "@/app/_lib/viewer";
import { readRegisterQuery } from "@/lib/core/heaters/register-query";
import { readRegisterWindow } from "@/lib/services/register";

/** One window of the register's rows, for the list as it scrolls. */
export async function GET(request: Request): Promise<Response> {
  const viewer = await maybeViewer();
  if (!viewer) return Response.json({ problems: [] }, { status: 401 });
  const { searchParams } = new URL(request.url);
  const { query } = readRegisterQuery(Object.fromEntries(searchParams));
  const result = await readRegisterWindow(viewer, query, today(), parse(searchParams.get("at")));
  if (!result.ok) return Response.json({ problems: result.problems }, { status: 422 });
  return Response.json(result.value, { headers: { "cache-control": "no-store" } });
}

function parse(text: string | null): unknown {
  try {
    return JSON.parse(text ?? "");
  } catch {
    return null;
  }
}
