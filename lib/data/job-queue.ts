import type pg from "pg";
import PgBoss from "pg-boss";

/**
 * The database's own job queue. Requests put work into it; `lib/jobs` takes work from it. Its
 * tables live in the schema `pgboss`, which belongs to the application's role.
 */
const store = globalThis as typeof globalThis & { tankloreQueue?: Promise<PgBoss> };

/** The queues there are; a queue is made on first use. */
export const QUEUES = ["plan", "risk"] as const;
export type QueueName = (typeof QUEUES)[number];

/** Times a job is tried again after its worker died, and how long it may run before it counts as dead. */
const RETRY = { retryLimit: 2, retryDelay: 2, expireInMinutes: 30 };

/** Opens the queue; with `supervise` this process also keeps it tidy and takes work. */
export function openQueue({ supervise = false } = {}): Promise<PgBoss> {
  store.tankloreQueue ??= (async () => {
    const boss = new PgBoss({
      connectionString: process.env.TANKLORE_APP_DATABASE_URL,
      schema: "pgboss",
      max: 4,
      supervise,
      schedule: false,
      migrate: true,
    });
    // A lost connection is tried again by the queue itself; the job's own record says what failed.
    boss.on("error", () => undefined);
    await boss.start();
    for (const name of QUEUES) await boss.createQueue(name, { name, ...RETRY });
    return boss;
  })();
  return store.tankloreQueue;
}

/** Puts a job into the queue as part of the caller's transaction: both happen or neither. */
export async function enqueueJob(
  client: pg.PoolClient,
  queue: QueueName,
  data: Readonly<Record<string, unknown>>,
): Promise<string | null> {
  const boss = await openQueue();
  return boss.send(queue, data, {
    ...RETRY,
    db: { executeSql: (text, values) => client.query(text, values) },
  });
}

/** Closes the queue, letting jobs under way finish for a few seconds. */
export async function closeQueue(): Promise<void> {
  const boss = await store.tankloreQueue?.catch(() => undefined);
  store.tankloreQueue = undefined;
  await boss?.stop({ graceful: true, timeout: 3_000, wait: true });
}
