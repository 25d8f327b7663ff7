import "server-only";

/**
 * True when a request that changes something comes from a page of ours: browsers say where a request
 * comes from in headers that a page cannot set (Fetch Metadata; Origin).
 */
export function isOwnRequest(request: Request): boolean {
  const site = request.headers.get("sec-fetch-site");
  if (site !== null) return site === "same-origin";
  const origin = request.headers.get("origin");
  return (
    origin !== null && URL.canParse(origin) && new URL(origin).host === request.headers.get("host")
  );
}
