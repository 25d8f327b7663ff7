import { timingSafeEqual } from "node:crypto";
import type { IncomingMessage, ServerResponse } from "node:http";
import { collectDefaultMetrics, Gauge, Histogram, Registry } from "prom-client";

const registry = new Registry();
collectDefaultMetrics({ register: registry, prefix: "tanklore_" });

const requests = new Histogram({
  name: "tanklore_http_request_seconds",
  help: "Time from a request to the end of its answer, files aside.",
  labelNames: ["method", "status"],
  buckets: [0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1, 2.5, 5, 10],
  registers: [registry],
});

new Gauge({
  name: "tanklore_jobs",
  help: "Jobs in the queue by state; failed ones of the last day.",
  labelNames: ["queue", "state"],
  registers: [registry],
  async collect() {
    // Loaded when it is asked for: a first start has no database client yet when it loads this file.
    const { countJobs } = await import("@/lib/data/queue-figures");
    this.reset();
    for (const { queue, state, count } of await countJobs()) this.set({ queue, state }, count);
  },
});

const METHODS = new Set(["GET", "HEAD", "POST", "PUT", "DELETE"]);

export function observeRequest(method: string, status: number, seconds: number): void {
  const known = METHODS.has(method) ? method : "other";
  requests.observe({ method: known, status: `${Math.floor(status / 100)}xx` }, seconds);
}

/** Answers `/api/metrics` in the Prometheus text format to who has the token; otherwise as if it were not there. */
export async function answerMetrics(
  request: IncomingMessage,
  response: ServerResponse,
  token: string | null,
): Promise<void> {
  const given = request.headers.authorization?.replace(/^Bearer /, "") ?? "";
  if (token === null || !isSame(given, token)) {
    response.writeHead(404, { "content-type": "text/plain" }).end("Not found.\n");
    return;
  }
  try {
    const text = await registry.metrics();
    response.writeHead(200, { "content-type": registry.contentType, "cache-control": "no-store" });
    response.end(text);
  } catch {
    response
      .writeHead(503, { "content-type": "text/plain" })
      .end("The record cannot be reached.\n");
  }
}

function isSame(given: string, token: string): boolean {
  const [a, b] = [Buffer.from(given), Buffer.from(token)];
  return a.length === b.length && timingSafeEqual(a, b);
}
