/** One thing that is wrong with something a person gave us: where, and what to do about it. */
export type Problem = {
  /** Where: a path such as `heaters[3].ageYears`, a column name, or a form field. */
  readonly path: string;
  /** What is wrong and what was expected, in words for the person who gave it. */
  readonly message: string;
};

/** The answer of a function whose input a person can put right: a value, or every problem found. */
export type Outcome<T> =
  | { readonly ok: true; readonly value: T }
  | { readonly ok: false; readonly problems: readonly Problem[] };

export function success<T>(value: T): Outcome<T> {
  return { ok: true, value };
}

export function failure(...problems: readonly Problem[]): Outcome<never> {
  return { ok: false, problems };
}
