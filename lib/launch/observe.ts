import { randomUUID } from "node:crypto";
import type { IncomingMessage, ServerResponse } from "node:http";
import { log } from "@/lib/config/log";
import { observeRequest } from "./metrics";

type Handle = (request: IncomingMessage, response: ServerResponse) => unknown;

/** Numbers, times and logs each request; the number goes back in `x-request-id`. */
export function observed(handle: Handle): Handle {
  return (request, response) => {
    const path = shapeOfPath(request.url ?? "/");
    const start = performance.now();
    const requestId = randomUUID();
    response.setHeader("x-request-id", requestId);
    response.once("close", () => {
      const milliseconds = performance.now() - start;
      const isFile = path.startsWith("/_next/") || path.startsWith("/icons/");
      if (!isFile)
        observeRequest(request.method ?? "GET", response.statusCode, milliseconds / 1000);
      const level = response.statusCode >= 500 ? "error" : isFile ? null : "info";
      if (level === null) return;
      log[level]({
        event: "request",
        requestId,
        method: request.method,
        path,
        status: response.writableFinished ? response.statusCode : "cut off",
        milliseconds: Math.round(milliseconds),
      });
    });
    return handle(request, response);
  };
}

/** Sections after which an address carries a secret. */
const SECRET_AFTER = new Set(["calendar", "invitation", "reset"]);

/**
 * An address without what identifies: no query, ids and numbers by kind, nothing after a section that
 * carries secrets, and anything that does not look like a word of ours as `:other`.
 */
export function shapeOfPath(url: string): string {
  const [path = ""] = url.split(/[?#]/, 1);
  const shaped: string[] = [];
  for (const segment of path.split("/")) {
    const before = shaped.at(-1);
    if (segment === "") continue;
    if (before !== undefined && SECRET_AFTER.has(before)) shaped.push(":secret");
    else if (/^[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$/i.test(segment)) shaped.push(":id");
    else if (/^\d+$/.test(segment)) shaped.push(":number");
    else if (/^_?[a-z][a-z.-]{0,40}$/.test(segment)) shaped.push(segment);
    else shaped.push(":other");
  }
  return `/${shaped.join("/")}`;
}
