/** What can go wrong for a person using the program, as a closed set. */
export type ServiceErrorCode =
  | "not-signed-in"
  | "not-allowed"
  | "not-found"
  | "conflict"
  | "invalid";

const HTTP_STATUS: Readonly<Record<ServiceErrorCode, number>> = {
  "not-signed-in": 401,
  "not-allowed": 403,
  "not-found": 404,
  conflict: 409,
  invalid: 422,
};

/** An error with a stable code and a sentence for the screen. */
export class ServiceError extends Error {
  constructor(
    readonly code: ServiceErrorCode,
    /** What happened, what was kept, what to do next. */
    readonly userMessage: string,
  ) {
    super(`${code}: ${userMessage}`);
  }

  get httpStatus(): number {
    return HTTP_STATUS[this.code];
  }
}
