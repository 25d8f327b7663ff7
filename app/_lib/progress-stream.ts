import "server-only";

const POLL_MILLISECONDS = 700;
/** A quiet stream says it is alive, so that nothing between here and the page ends it. */
const QUIET_POLLS = 20;

/** Where some long work stands. */
export type StreamedProgress = { readonly status: string };

/**
 * Streams where a run stands, as server-sent events, until it has ended, is gone or nobody listens.
 * @param read null when there is no such run
 */
export async function streamProgress(
  request: Request,
  read: () => Promise<StreamedProgress | null>,
): Promise<Response> {
  const first = await read();
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
          const now = await read();
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
