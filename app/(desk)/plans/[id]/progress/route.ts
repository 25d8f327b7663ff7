import { maybeViewer } from "@/app/_lib/viewer";
import { readRunProgress } from "@/lib/services/plan-requests";

export const dynamic = "force-dynamic";

const POLL_MILLISECONDS = 700;
/** A quiet stream says it is alive, so that nothing between here and the page ends it. */
const QUIET_POLLS = 20;

/** Streams where a run stands, as server-sent events, until it has ended or nobody listens. */
export async function GET(
  request: Request,
  { params }: { readonly params: Promise<{ readonly id: string }> },
): Promise<Response> {
  const viewer = await maybeViewer();
  if (!viewer) return new Response("Sign in first.\n", { status: 401 });
  const { id } = await params;
  const first = await readRunProgress(viewer, id);
  if (!first) return new Response("There is no such run.\n", { status: 404 });

  const encoder = new TextEncoder();
  let isOpen = true;
  const stream = new ReadableStream<Uint8Array>({
    async start(controller) {
      const send = (text: string) => controller.enqueue(encoder.encode(text));
      let sent = "";
      let quiet = 0;
      try {
        while (isOpen && !request.signal.aborted) {
          const now = await readRunProgress(viewer, id);
          if (!now) break;
          const text = JSON.stringify(now);
          quiet = text === sent ? quiet + 1 : 0;
          if (text !== sent) send(`data: ${text}\n\n`);
          else if (quiet % QUIET_POLLS === 0) send(": still here\n\n");
          sent = text;
          if (now.status !== "queued" && now.status !== "running") break;
          await new Promise((resolve) => setTimeout(resolve, POLL_MILLISECONDS));
        }
        if (isOpen) controller.close();
      } catch (error) {
        if (isOpen) controller.error(error);
      }
    },
    cancel() {
      isOpen = false;
    },
  });
  return new Response(stream, {
    headers: {
      "content-type": "text/event-stream",
      // Compression would hold events back until there are enough of them.
      "cache-control": "no-cache, no-transform",
      "x-accel-buffering": "no",
    },
  });
}
