/** The program is alive; it says nothing of the record. */
export const dynamic = "force-dynamic";

export function GET(): Response {
  return Response.json({ status: "alive" }, { headers: { "cache-control": "no-store" } });
}
