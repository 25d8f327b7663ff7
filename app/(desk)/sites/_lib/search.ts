/** The parameters of an address as a page gets them. */
export type Search = Readonly<Record<string, string | string[] | undefined>>;

/** One parameter; null when it is absent or empty. */
export function one(search: Search, name: string): string | null {
  const value = search[name];
  return typeof value === "string" && value !== "" ? value : null;
}
