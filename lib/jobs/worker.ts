import { takeWork } from "@/lib/services/work-queue";
import { JOB_HANDLERS } from "./definitions";

/** Takes jobs from the queue until it is stopped; what is under way is told to stop first. */
export async function startWork(): Promise<{ readonly stop: () => Promise<void> }> {
  const stopping = new AbortController();
  const work = await takeWork(async (queue, data) => {
    const handle = await JOB_HANDLERS[queue]();
    await handle(data, { signal: stopping.signal });
  });
  return {
    stop: async () => {
      stopping.abort();
      await work.stop();
    },
  };
}
