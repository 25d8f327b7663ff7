import { nameKey } from "@/lib/core/exchange/settle-record";

/**
 * Things found by name, whatever its case. Where the record holds names that differ in case only, each
 * is found by its own spelling, and any other spelling finds one of them.
 */
export class NameIndex<T> {
  /** Within each scope, things by every spelling that was met and by the name's key. */
  readonly #scopes = new Map<string, Map<string, T>>();
  readonly #things: T[] = [];

  /** @param scope within which names are told apart, such as the id of a building for its homes */
  get(scope: string, name: string): T | undefined {
    const names = this.#scopes.get(scope);
    if (!names) return undefined;
    const exact = names.get(name);
    if (exact !== undefined) return exact;
    const thing = names.get(nameKey(name));
    if (thing !== undefined) names.set(name, thing);
    return thing;
  }

  add(scope: string, name: string, thing: T): void {
    let names = this.#scopes.get(scope);
    if (!names) {
      names = new Map();
      this.#scopes.set(scope, names);
    }
    const key = nameKey(name);
    if (!names.has(key)) names.set(key, thing);
    names.set(name, thing);
    this.#things.push(thing);
  }

  values(): Iterable<T> {
    return this.#things;
  }
}
