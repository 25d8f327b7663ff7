import type { Instrumentation } from "next";

/** Failures of pages and actions, for the structured log. */
export const onRequestError: Instrumentation.onRequestError = async (error, _request, context) => {
  if (process.env.NEXT_RUNTIME === "edge") return;
  const { describeError, log } = await import("@/lib/config/log");
  const { routePath, routeType } = context;
  log.error({ event: "failure", routePath, routeType, error: describeError(error) });
};
