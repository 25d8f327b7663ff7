import { nameKey } from "@/lib/core/exchange/settle-record";

/**
 * Things found by name, whatever its case. Where the record holds names that differ in case only, each
 * is found by its own spelling, and any other spelling finds the first.
 */
export class NameIndex<T> {
  readonly #byKey = new Map<string, T>();
  readonly #bySpelling = new Map<string, T>();

  /** @param scope within which names are told apart, such as the id of a building for its homes */
  get(scope: string, name: string): T | undefined {
    const exact = this.#bySpelling.size > 0 ? this.#bySpelling.get(join(scope, name)) : undefined;
    return exact ?? this.#byKey.get(join(scope, nameKey(name)));
  }

  add(scope: string, name: string, thing: T): void {
    const key = join(scope, nameKey(name));
    if (this.#byKey.has(key)) this.#bySpelling.set(join(scope, name), thing);
    else this.#byKey.set(key, thing);
  }

  *values(): Generator<T> {
    yield* this.#byKey.values();
    yield* this.#bySpelling.values();
  }
}

function join(scope: string, name: string): string {
  return scope === "" ? name : `${scope} ${name}`;
}
