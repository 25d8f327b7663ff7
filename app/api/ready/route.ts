import { isRecordReachable } from "@/lib/services/readiness";

/** 200 when the record can be reached and requests can be served, 503 when it cannot. */
export const dynamic = "force-dynamic";

export async function GET(): Promise<Response> {
  const isReady = await isRecordReachable();
  return Response.json(
    { status: isReady ? "ready" : "the record cannot be reached" },
    { status: isReady ? 200 : 503, headers: { "cache-control": "no-store" } },
  );
}
