/** Wrong passwords in a row that cost nothing but the trying. */
export const FREE_ATTEMPTS = 5;
const FIRST_WAIT_SECONDS = 30;
const LONGEST_WAIT_SECONDS = 15 * 60;
/** An account that nobody tried for so long starts afresh. */
const FORGOTTEN_AFTER_SECONDS = 24 * 3600;
/** Accounts that are remembered at once; the least recently tried is forgotten first. */
const MOST_ACCOUNTS = 50_000;

type Attempts = { readonly count: number; readonly lastAtMs: number };

/**
 * Slows down guessing of an account's password: after {@link FREE_ATTEMPTS} attempts without a success
 * each further one waits, 30 seconds and then twice as long each time, at most 15 minutes. It counts by
 * address of the account, known or not, so that its answers do not tell which accounts exist.
 */
export class SignInThrottle {
  readonly #attempts = new Map<string, Attempts>();

  /**
   * Counts an attempt before its password is looked at, so that attempts at the same time count too.
   * @returns seconds to wait; the attempt counts, and may be made, only when it is 0.
   */
  begin(account: string, nowMs: number): number {
    const key = account.trim().toLowerCase();
    const known = this.#attempts.get(key);
    const before =
      known && nowMs - known.lastAtMs < FORGOTTEN_AFTER_SECONDS * 1000 ? known : undefined;
    const waitMs = before ? before.lastAtMs + waitSeconds(before.count) * 1000 - nowMs : 0;
    if (waitMs > 0) return Math.ceil(waitMs / 1000);
    this.#attempts.delete(key);
    this.#attempts.set(key, { count: (before?.count ?? 0) + 1, lastAtMs: nowMs });
    if (this.#attempts.size > MOST_ACCOUNTS) {
      const [oldest] = this.#attempts.keys();
      this.#attempts.delete(oldest);
    }
    return 0;
  }

  /** The password was right: the account starts afresh. */
  succeed(account: string): void {
    this.#attempts.delete(account.trim().toLowerCase());
  }
}

function waitSeconds(attempts: number): number {
  if (attempts < FREE_ATTEMPTS) return 0;
  return Math.min(LONGEST_WAIT_SECONDS, FIRST_WAIT_SECONDS * 2 ** (attempts - FREE_ATTEMPTS));
}
