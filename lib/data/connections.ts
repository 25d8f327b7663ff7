import { PrismaPg } from "@prisma/adapter-pg";
import type pg from "pg";
import { PrismaClient } from "./generated/client";
import { createPool } from "./pool";

/**
 * The connections of this process, as the application's own role (under row-level security).
 * Kept on `globalThis`, since a bundler may load this file more than once.
 */
type Connections = { readonly pool: pg.Pool; readonly prisma: PrismaClient };

const store = globalThis as typeof globalThis & { tankloreConnections?: Connections };

function connections(): Connections {
  if (!store.tankloreConnections) {
    const url = process.env.TANKLORE_APP_DATABASE_URL;
    if (!url) throw new Error("TANKLORE_APP_DATABASE_URL is not set: start with npm start");
    store.tankloreConnections = {
      pool: createPool(url, 12),
      prisma: new PrismaClient({
        adapter: new PrismaPg(
          { connectionString: url, max: 8 },
          { onPoolError: () => undefined, onConnectionError: () => undefined },
        ),
      }),
    };
  }
  return store.tankloreConnections;
}

/** Prisma without a tenant: for the sign-in tables only. */
export function signInRecords(): PrismaClient {
  return connections().prisma;
}

/** The pool without a tenant; rows of an organisation are reached through `./tenant`. */
export function appPool(): pg.Pool {
  return connections().pool;
}

/** Ends the connections of this process, for a clean stop. */
export async function closeConnections(): Promise<void> {
  const open = store.tankloreConnections;
  if (!open) return;
  store.tankloreConnections = undefined;
  await Promise.allSettled([open.pool.end(), open.prisma.$disconnect()]);
}
