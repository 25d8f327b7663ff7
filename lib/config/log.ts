import pino, { type Logger } from "pino";
import { LOG_LEVELS } from "./environment";

/**
 * Structured logs: one JSON object a line on standard output. They hold no personal data: requests by
 * the shape of their address, jobs by queue, errors without the values that they quote.
 */
const level = LOG_LEVELS.find((name) => name === process.env.TANKLORE_LOG) ?? "error";

export const log: Logger = pino({
  level,
  base: null,
  timestamp: pino.stdTimeFunctions.isoTime,
  formatters: { level: (label) => ({ level: label }) },
});

/**
 * An error for the log: its name, code and place, and its message without what stands in quotes or
 * looks like an address, since databases and parsers quote what a person typed.
 */
export function describeError(error: unknown): Readonly<Record<string, unknown>> {
  if (!(error instanceof Error)) return { name: typeof error };
  const { code, digest } = error as { code?: unknown; digest?: unknown };
  const frames = (error.stack ?? "").split("\n").filter((line) => /^\s+at /.test(line));
  return {
    name: error.name,
    ...(typeof code === "string" && { code }),
    ...(typeof digest === "string" && { digest }),
    message: withoutValues(error.message),
    at: frames.slice(0, 6).map((line) => line.trim().replace(process.cwd(), "")),
  };
}

/** Takes out quoted text, electronic addresses and long numbers. */
export function withoutValues(message: string): string {
  return message
    .replace(/"[^"]*"|'[^']*'|`[^`]*`/g, "…")
    .replace(/[^\s@,;]+@[^\s@,;]+/g, "…")
    .replace(/\d{5,}/g, "…")
    .slice(0, 300);
}
