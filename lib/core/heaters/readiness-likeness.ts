import type { Heater } from "./heater";

/** What homes are compared by before an answer is carried from one to the other. */
export type LikenessTerms = {
  /** Only the homes above and below: one riser. */
  readonly sameRiser: boolean;
};

/**
 * Why a heater's place is not taken to be built like another's; empty when it is. Alike are heaters of
 * one building and technology, in the same kind of place, in homes of one plan: as many bedrooms and
 * bathrooms. What is not on record is not taken to be alike.
 */
export function whyNotAlike(
  seen: Heater,
  other: Heater,
  { sameRiser }: LikenessTerms,
): readonly string[] {
  const why: string[] = [];
  if (seen.buildingId !== other.buildingId) why.push("another building");
  if (seen.technology !== other.technology) why.push("another kind of heater");
  if (seen.place !== other.place) why.push("another kind of place");
  if (seen.home.homesServed !== other.home.homesServed) why.push("serves another number of homes");
  const plans = [
    ["bedrooms", seen.home.bedrooms, other.home.bedrooms],
    ["bathrooms", seen.home.bathrooms, other.home.bathrooms],
  ] as const;
  for (const [name, ours, theirs] of plans) {
    if (ours === null || theirs === null) {
      // A plant room serves homes of many plans: its own bedrooms say nothing.
      if (seen.home.homesServed === 1) why.push(`${name} not on record`);
    } else if (ours !== theirs) why.push(`other number of ${name}`);
  }
  if (sameRiser) {
    if (seen.home.riser === null || other.home.riser === null) why.push("riser not on record");
    else if (seen.home.riser !== other.home.riser) why.push("another riser");
  }
  return why;
}
