import { resolve } from "node:path";
import { z } from "zod";

const port = z.coerce
  .number({ message: "must be a port number" })
  .int("must be a whole number")
  .min(0, "must be 0 to 65535")
  .max(65_535, "must be 0 to 65535");

export const LOG_LEVELS = ["silent", "error", "info"] as const;
export type LogLevel = (typeof LOG_LEVELS)[number];

const schema = z.object({
  /** Owner connection of an external PostgreSQL; absent: the embedded server. */
  DATABASE_URL: z.url({ message: "must be a postgres:// address" }).optional(),
  /** Connection of the application's own role; launch sets it when it makes that role. */
  TANKLORE_APP_DATABASE_URL: z.url({ message: "must be a postgres:// address" }).optional(),
  TANKLORE_DATA_DIR: z.string().min(1).default(".data"),
  /** Key that signs sessions; launch makes and keeps one when it is absent. */
  TANKLORE_AUTH_SECRET: z.string().min(32, "must have at least 32 characters").optional(),
  /** Address that people open, behind a proxy for instance. */
  TANKLORE_BASE_URL: z.url({ message: "must be an http(s) address" }).optional(),
  /** Structured logs on standard output: nothing, failures, or every request and job. */
  TANKLORE_LOG: z
    .enum(LOG_LEVELS, { message: `must be one of ${LOG_LEVELS.join(", ")}` })
    .default("error"),
  /** Bearer token that opens /api/metrics; absent: there are no metrics. */
  TANKLORE_METRICS_TOKEN: z.string().min(16, "must have at least 16 characters").optional(),
  HOST: z.string().min(1).default("127.0.0.1"),
  PORT: port.default(3210),
});

export type Environment = {
  readonly databaseUrl: string | null;
  readonly appDatabaseUrl: string | null;
  readonly dataDir: string;
  readonly authSecret: string | null;
  readonly baseUrl: string | null;
  readonly logLevel: LogLevel;
  readonly metricsToken: string | null;
  readonly host: string;
  readonly port: number;
};

/** A setting that cannot be used; the message names it. */
export class EnvironmentError extends Error {}

/**
 * Reads the settings once from environment variables.
 * @throws {EnvironmentError} with one line that names every unusable setting.
 */
export function readEnvironment(
  variables: Readonly<Record<string, string | undefined>> = process.env,
): Environment {
  const given = Object.fromEntries(
    Object.keys(schema.shape)
      .map((name) => [name, variables[name]])
      .filter(([, value]) => value !== undefined && value !== ""),
  );
  const parsed = schema.safeParse(given);
  if (!parsed.success) {
    const reasons = parsed.error.issues.map((issue) => `${issue.path.join(".")} ${issue.message}`);
    throw new EnvironmentError(`cannot use the settings: ${reasons.join("; ")}`);
  }
  const settings = parsed.data;
  return {
    databaseUrl: settings.DATABASE_URL ?? null,
    appDatabaseUrl: settings.TANKLORE_APP_DATABASE_URL ?? null,
    dataDir: resolve(settings.TANKLORE_DATA_DIR),
    authSecret: settings.TANKLORE_AUTH_SECRET ?? null,
    baseUrl: settings.TANKLORE_BASE_URL ?? null,
    logLevel: settings.TANKLORE_LOG,
    metricsToken: settings.TANKLORE_METRICS_TOKEN ?? null,
    host: settings.HOST,
    port: settings.PORT,
  };
}
