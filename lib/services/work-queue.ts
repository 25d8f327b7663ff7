import { closeConnections } from "@/lib/data/connections";
import { closeQueue, openQueue, QUEUES, type QueueName } from "@/lib/data/job-queue";

export type { QueueName } from "@/lib/data/job-queue";

/** Hands each job to `handle` until stopped. A job whose handler fails or dies is tried again. */
export async function takeWork(
  handle: (queue: QueueName, data: unknown) => Promise<void>,
): Promise<{ readonly stop: () => Promise<void> }> {
  const queue = await openQueue({ supervise: true });
  for (const name of QUEUES) {
    await queue.work(name, { pollingIntervalSeconds: 0.5, batchSize: 1 }, async ([job]) => {
      if (job) await handle(name, job.data);
    });
  }
  return {
    stop: async () => {
      await closeQueue();
      await closeConnections();
    },
  };
}

/** Ends this thread's connections to the database, where it took some of its own. */
export function closeDatabase(): Promise<void> {
  return closeConnections();
}
