import "server-only";

/** Address that people open: the setting where there is one, else that of the request. */
export function baseUrlOf(request: Request): string {
  return new URL(process.env.TANKLORE_BASE_URL ?? request.url).origin;
}
