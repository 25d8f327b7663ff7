import { type RoundRequest, roundRequestSchema } from "@/lib/services/round-form";

/** A request for rounds as an address holds it. */
export function requestOf(search: URLSearchParams): RoundRequest {
  const one = (name: string) => search.get(name) || null;
  return roundRequestSchema.parse({
    property: one("property"),
    building: one("building"),
    week: one("week"),
    days: search.getAll("days"),
    tasks: search.getAll("tasks"),
    reach: one("reach") ?? undefined,
    person: one("person"),
    dayMinutes: one("dayMinutes"),
    noticeDays: one("noticeDays"),
  });
}

/** Search parameters as Next gives them, as an address. */
export function searchOf(
  params: Readonly<Record<string, string | string[] | undefined>>,
): URLSearchParams {
  const search = new URLSearchParams();
  for (const [name, value] of Object.entries(params)) {
    for (const one of Array.isArray(value) ? value : [value]) {
      if (one) search.append(name, one);
    }
  }
  return search;
}
