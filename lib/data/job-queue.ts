import pg from "pg";
import PgBoss from "pg-boss";

/**
 * The database's own job queue. Requests put work into it; `lib/jobs` takes work from it. Its
 * tables live in a schema of their own, made by the owner at a start and used by the application.
 */
const SCHEMA = "pgboss";

const store = globalThis as typeof globalThis & { tankloreQueue?: Promise<PgBoss> };

/** The queues there are. */
export const QUEUES = ["plan", "risk", "import", "emissions", "fit", "back-test"] as const;
export type QueueName = (typeof QUEUES)[number];

/** Times a job is tried again after its worker died, and how long it may run before it counts as dead. */
const RETRY = { retryLimit: 2, retryDelay: 2, expireInMinutes: 30 };

/** Makes or updates the queue's tables and queues, as the database's owner. */
export async function prepareQueue(ownerUrl: string): Promise<void> {
  const boss = new PgBoss({
    connectionString: ownerUrl,
    schema: SCHEMA,
    max: 1,
    supervise: false,
    schedule: false,
  });
  await boss.start();
  try {
    for (const name of QUEUES) await boss.createQueue(name, { name, ...RETRY });
  } finally {
    await boss.stop({ graceful: false, wait: true });
  }
}

/**
 * Gives jobs that were under way back to the queue. Only for a start that knows no other worker to
 * be running, as with the embedded database: what was under way then belongs to a process that died.
 */
export async function releaseAbandonedJobs(ownerUrl: string): Promise<void> {
  const client = new pg.Client({ connectionString: ownerUrl });
  await client.connect();
  try {
    await client.query(
      `UPDATE ${SCHEMA}.job SET state = 'retry', start_after = now() WHERE state = 'active'`,
    );
  } finally {
    await client.end();
  }
}

export type QueuedJob = { readonly queue: string; readonly data: unknown };

/** Jobs that wait or are under way, oldest first. */
export async function listUnfinishedJobs(client: pg.ClientBase): Promise<readonly QueuedJob[]> {
  const { rows: found } = await client.query("SELECT to_regclass($1) AS name", [`${SCHEMA}.job`]);
  if (found[0].name === null) return [];
  const { rows } = await client.query(
    `SELECT name AS queue, data FROM ${SCHEMA}.job
     WHERE state IN ('created', 'retry', 'active') AND name = ANY($1) ORDER BY created_on`,
    [QUEUES],
  );
  return rows;
}

/** Puts jobs into the queue of a database whose queue is prepared, as its owner. */
export async function enqueueAll(client: pg.ClientBase, jobs: readonly QueuedJob[]): Promise<void> {
  const isKnown = (name: string): name is QueueName => QUEUES.some((queue) => queue === name);
  const boss = new PgBoss({ db: databaseOf(client), schema: SCHEMA, migrate: false });
  for (const { queue, data } of jobs) {
    if (isKnown(queue)) await boss.send(queue, data as object, RETRY);
  }
}

/** Opens the queue; with `supervise` this process also keeps it tidy and takes work. */
export function openQueue({ supervise = false } = {}): Promise<PgBoss> {
  store.tankloreQueue ??= (async () => {
    const boss = new PgBoss({
      connectionString: process.env.TANKLORE_APP_DATABASE_URL,
      schema: SCHEMA,
      max: 4,
      supervise,
      schedule: false,
      migrate: false,
    });
    // A lost connection is tried again by the queue itself; the job's own record says what failed.
    boss.on("error", () => undefined);
    await boss.start();
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
    db: databaseOf(client),
  });
}

function databaseOf(client: pg.ClientBase): PgBoss.Db {
  return { executeSql: (text, values) => client.query(text, values) };
}

/** Closes the queue, letting jobs under way finish for a few seconds. */
export async function closeQueue(): Promise<void> {
  const boss = await store.tankloreQueue?.catch(() => undefined);
  store.tankloreQueue = undefined;
  await boss?.stop({ graceful: true, timeout: 3_000, wait: true });
}
