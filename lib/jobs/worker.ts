import { describeError, log } from "@/lib/config/log";
import { takeWork } from "@/lib/services/work-queue";
import { JOB_HANDLERS } from "./definitions";

/** Takes jobs from the queue until it is stopped; what is under way is told to stop first. */
export async function startWork(): Promise<{ readonly stop: () => Promise<void> }> {
  const stopping = new AbortController();
  const work = await takeWork(async (queue, data) => {
    const handle = await JOB_HANDLERS[queue]();
    const start = performance.now();
    const figures = () => ({
      event: "job",
      queue,
      milliseconds: Math.round(performance.now() - start),
    });
    try {
      await handle(data, { signal: stopping.signal });
      log.info(figures());
    } catch (error) {
      log.error({ ...figures(), error: describeError(error) });
      throw error;
    }
  });
  return {
    stop: async () => {
      stopping.abort();
      await work.stop();
    },
  };
}
