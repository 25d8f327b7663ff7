import { requireAtLeastZero, requireFinite } from "@/lib/core/shared/requirements";
import type { SourcedValue } from "@/lib/core/shared/sourced";
import type { Answer } from "./vocabulary";

/** Least fall of a condensate line by gravity. */
export const CONDENSATE_FALL: SourcedValue = {
  value: 1 / 8,
  unit: "in per ft",
  source:
    "⅛ unit in 12, about 1 %: International Plumbing Code 314.2.1 as the city of Baltimore adopted it",
  evidence: "published",
};

/** Least inside diameter of the line. */
export const CONDENSATE_PIPE: SourcedValue = {
  value: 3 / 4,
  unit: "in",
  source: "International Mechanical Code 307.2.2, as quoted by hvacrschool.com",
  evidence: "quoted",
};

export type CondensateCheck = {
  readonly answer: Answer;
  /** Inches that the line must fall on its way. */
  readonly neededFallIn: number;
  readonly sentence: string;
};

/**
 * Whether condensate reaches a drain by its own fall, or needs a pump. It ends in an approved indirect
 * waste, never where people walk or against the building.
 *
 * @param runFt length of the line, feet
 * @param fallIn from the heater's outlet down to the drain, inches; negative when the drain is higher
 * @throws {RangeError} when the run is negative or a number is not finite.
 */
export function checkCondensateFall({
  runFt,
  fallIn,
}: {
  readonly runFt: number;
  readonly fallIn: number;
}): CondensateCheck {
  const neededFallIn = CONDENSATE_FALL.value * requireAtLeastZero("runFt", runFt);
  requireFinite("fallIn", fallIn);
  const isEnough = fallIn >= neededFallIn - 1e-9;
  const needed = neededFallIn.toFixed(neededFallIn < 10 ? 1 : 0);
  return {
    answer: isEnough ? "yes" : "no",
    neededFallIn,
    sentence: isEnough
      ? `Falls ${fallIn} in over ${runFt} ft; ${needed} in are needed. Pipe of at least ¾ in, to an approved indirect waste.`
      : `Falls ${fallIn} in over ${runFt} ft, but ${needed} in are needed: a condensate pump, or another route.`,
  };
}
