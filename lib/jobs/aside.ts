import { startThread } from "./thread";

/** What a thread that computes something sends: progress any number of times, then how it ended. */
export type AsideMessage<T> =
  | { readonly kind: "progress"; readonly share: number; readonly message: string }
  | { readonly kind: "answer"; readonly answer: T }
  | { readonly kind: "failure"; readonly message: string };

/**
 * Computes in a worker thread of its own, so that the worker stays free to note progress and to stop.
 * The thread is ended when the signal says so: it cannot be interrupted from inside.
 */
export function runAside<T>(
  entry: URL,
  input: unknown,
  {
    signal,
    onProgress,
  }: {
    readonly signal: AbortSignal;
    readonly onProgress: (share: number, message: string) => void;
  },
): Promise<T> {
  return new Promise<T>((resolve, reject) => {
    const thread = startThread(entry, input);
    const onAbort = () => end(() => reject(signal.reason));
    let isOver = false;
    const end = (settle: () => void) => {
      if (isOver) return;
      isOver = true;
      signal.removeEventListener("abort", onAbort);
      // The promise settles when the thread is gone, so that nothing of it outlives the job.
      void thread.terminate().then(settle, settle);
    };
    signal.addEventListener("abort", onAbort);
    if (signal.aborted) onAbort();
    thread.on("message", (message: AsideMessage<T>) => {
      if (message.kind === "progress") onProgress(message.share, message.message);
      else if (message.kind === "answer") end(() => resolve(message.answer));
      else end(() => reject(new Error(message.message)));
    });
    thread.once("error", (error) => end(() => reject(error)));
    thread.once("exit", (code) =>
      end(() => reject(new Error(`the computation ended without an answer (code ${code})`))),
    );
  });
}
