import { formatNumber, formatShare } from "@/app/_lib/format";
import { isCombustion, isHeatPump, TECHNOLOGY_LABELS } from "@/lib/core/heaters/vocabulary";
import { type CalendarDay, yearsBetween } from "@/lib/core/shared/calendar-day";
import type { ElevationHeater } from "@/lib/services/elevation";

/** What the ink of a drawing tells; one thing at a time. */
export const ELEVATION_INKS = ["chance", "age", "swap", "option", "technology", "visit"] as const;
export type ElevationInk = (typeof ELEVATION_INKS)[number];

export const INK_LABELS: Readonly<Record<ElevationInk, string>> = {
  chance: "Chance in 12 months",
  age: "Age",
  swap: "Planned swap",
  option: "Planned option",
  technology: "What stands there",
  visit: "Last visit",
};

/** How much ink a cell carries: nothing known, or one of five heights. */
export type InkLevel = 0 | 1 | 2 | 3 | 4;
export type InkKind = "plain" | "combustion" | "heat-pump";

export type CellInk = {
  /** null: not known, drawn hatched. */
  readonly level: InkLevel | null;
  readonly kind: InkKind;
  /** What stands in the cell, short. */
  readonly short: string;
  /** The same in words, for the cell's name. */
  readonly words: string;
};

const UNKNOWN: CellInk = { level: null, kind: "plain", short: "?", words: "not known" };

function levelOf(value: number, bounds: readonly [number, number, number, number]): InkLevel {
  return bounds.filter((bound) => value >= bound).length as InkLevel;
}

/** Shares from which a cell takes its next height of ink. */
const CHANCE_BOUNDS = [0.05, 0.1, 0.25, 0.5] as const;
const AGE_BOUNDS = [4, 8, 12, 16] as const;
const VISIT_BOUNDS = [0.5, 1, 2, 3] as const;
const SWAP_BOUNDS = [1, 2, 4, 8] as const;

/** What a heater's cell shows under an ink. */
export function inkOf(heater: ElevationHeater, ink: ElevationInk, today: CalendarDay): CellInk {
  switch (ink) {
    case "chance": {
      const chance = heater.failureProbability;
      if (chance === null) return { ...UNKNOWN, words: "chance not yet scored" };
      return {
        level: levelOf(chance, CHANCE_BOUNDS),
        kind: "plain",
        short: formatShare(chance, chance < 0.1 ? 1 : 0),
        words: `${formatShare(chance)} chance of failing within 12 months`,
      };
    }
    case "age": {
      if (heater.ageYears === null) return { ...UNKNOWN, words: "age not yet worked out" };
      return {
        level: levelOf(heater.ageYears, AGE_BOUNDS),
        kind: "plain",
        short: `${heater.isAgeEstimated ? "≈" : ""}${formatNumber(Math.floor(heater.ageYears))} y`,
        words: `${heater.isAgeEstimated ? "about " : ""}${formatNumber(heater.ageYears, 1)} years old`,
      };
    }
    case "swap": {
      if (heater.swapPeriod === null) {
        return { level: 0, kind: "plain", short: "–", words: "no swap planned" };
      }
      const years = Number(heater.swapPeriod.slice(0, 4)) - Number(today.slice(0, 4));
      return {
        level: (4 - levelOf(years, SWAP_BOUNDS)) as InkLevel,
        kind: "plain",
        short: heater.swapPeriod.replace(/^20(\d\d)-Q/, "’$1 Q"),
        words: `swap planned in ${heater.swapPeriod}`,
      };
    }
    case "option": {
      if (heater.swapOption === null) {
        return { level: 0, kind: "plain", short: "–", words: "no swap planned" };
      }
      return {
        level: 2,
        kind: "plain",
        short: heater.swapOption,
        words: `to become ${heater.swapOption}`,
      };
    }
    case "technology":
      return {
        level: isCombustion(heater.technology) ? 4 : isHeatPump(heater.technology) ? 2 : 1,
        kind: isCombustion(heater.technology)
          ? "combustion"
          : isHeatPump(heater.technology)
            ? "heat-pump"
            : "plain",
        short: isCombustion(heater.technology)
          ? "Gas"
          : isHeatPump(heater.technology)
            ? "Pump"
            : "Elec.",
        words: TECHNOLOGY_LABELS[heater.technology],
      };
    case "visit": {
      if (heater.lastVisitOn === null) return { ...UNKNOWN, words: "no visit on record" };
      const years = Math.max(0, yearsBetween(heater.lastVisitOn, today));
      return {
        level: levelOf(years, VISIT_BOUNDS),
        kind: "plain",
        short: years < 1 ? `${Math.round(years * 12)} mo` : `${formatNumber(years, 1)} y`,
        words: `last visited ${heater.lastVisitOn}`,
      };
    }
  }
}

/** The key of an ink: heights in rising order, each with its words; empty when cells say it themselves. */
export const INK_KEYS: Readonly<Record<ElevationInk, readonly string[]>> = {
  chance: ["under 5 %", "5 % to 10 %", "10 % to 25 %", "25 % to 50 %", "50 % or more"],
  age: ["under 4 years", "4 to 8", "8 to 12", "12 to 16", "16 years or more"],
  swap: [
    "none, or in 8 years or more",
    "in 4 to 8 years",
    "in 2 or 3 years",
    "next year",
    "this year",
  ],
  option: [],
  technology: [],
  visit: [
    "under 6 months ago",
    "6 to 12 months",
    "1 to 2 years",
    "2 to 3 years",
    "3 years or more",
  ],
};
