import { failure, type Outcome, type Problem, success } from "@/lib/core/shared/outcome";

/** Ends a transaction without its result, and carries why. */
export class Refused extends Error {
  constructor(readonly problems: readonly Problem[]) {
    super(problems[0]?.message);
  }
}

export function refuse(message: string, path = ""): Refused {
  return new Refused([{ path, message }]);
}

/** Runs a transaction; one that was refused has left nothing. */
export async function undoRefused<T>(transaction: () => Promise<T>): Promise<Outcome<T>> {
  try {
    return success(await transaction());
  } catch (error) {
    if (error instanceof Refused) return failure(...error.problems);
    throw error;
  }
}
