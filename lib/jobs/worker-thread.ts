import { parentPort } from "node:worker_threads";
import { startWork } from "./worker";

/** The worker as a thread of the program: says when it is ready, ends when told to. */
const work = await startWork();
parentPort?.once("message", () => {
  void work.stop().then(() => process.exit(0));
});
parentPort?.postMessage("ready");
