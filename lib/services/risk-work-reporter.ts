/** How often progress is written and a cancellation is noticed, in milliseconds. */
const BEAT_MILLISECONDS = 1_000;

/** Writes how far a piece of long work is while it goes on, and notices when it is cancelled. */
export class WorkReporter {
  readonly #stopping = new AbortController();
  readonly #timer: NodeJS.Timeout;
  readonly #forward = () => this.#stopping.abort(new Error("the worker is stopping"));
  #latest: { readonly share: number; readonly message: string } | null = null;
  #writing: Promise<void> = Promise.resolve();
  #isCancelled = false;

  /**
   * @param shutdown the worker is stopping
   * @param write keeps the progress; false when the work is no longer wanted
   */
  constructor(
    private readonly shutdown: AbortSignal,
    private readonly write: (share: number, message: string) => Promise<boolean>,
  ) {
    this.#timer = setInterval(() => this.#beat(), BEAT_MILLISECONDS);
    shutdown.addEventListener("abort", this.#forward);
    if (shutdown.aborted) this.#forward();
  }

  /** Ends the work under way: it was cancelled or the worker stops. */
  get signal(): AbortSignal {
    return this.#stopping.signal;
  }

  get isCancelled(): boolean {
    return this.#isCancelled;
  }

  say(share: number, message: string): void {
    this.#latest = { share, message };
  }

  async stop(): Promise<void> {
    clearInterval(this.#timer);
    this.shutdown.removeEventListener("abort", this.#forward);
    await this.#writing;
  }

  #beat(): void {
    const { share, message } = this.#latest ?? { share: 0, message: "Reading the record" };
    this.#writing = this.#writing.then(async () => {
      try {
        if (await this.write(share, message)) return;
        this.#isCancelled = true;
        this.#stopping.abort(new Error("the work was cancelled"));
      } catch {
        // Progress is a courtesy: a database that is away for a moment does not end the work.
      }
    });
  }
}
