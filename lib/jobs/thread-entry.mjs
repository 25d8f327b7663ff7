import { workerData } from "node:worker_threads";
import { register } from "tsx/esm/api";

/** A worker thread does not inherit the TypeScript loader: it is registered here, then the thread's own file runs. */
register();
await import(workerData.entry);
