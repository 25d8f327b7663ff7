import { Worker } from "node:worker_threads";

/** Starts a TypeScript file (a file URL) as a worker thread; `input` is its `workerData.input`. */
export function startThread(entry: URL, input?: unknown): Worker {
  return new Worker(new URL("./thread-entry.mjs", import.meta.url), {
    workerData: { entry: entry.href, input },
  });
}
