import { requireAtLeastZero, requirePositive } from "@/lib/core/shared/requirements";
import type { SourcedValue } from "@/lib/core/shared/sourced";
import type { Answer } from "./vocabulary";

/**
 * Room air that a heat pump without ducts needs, in cubic feet. The published rules differ, so that
 * what lies between the least and the greatest is for the manual of the unit to say.
 */
export const AIR_VOLUME = {
  enough: {
    value: 1_000,
    unit: "ft³",
    source: "at least 1,000 ft³ and 40 to 90 °F all year: ENERGY STAR product page",
    evidence: "published",
  },
  manual: {
    value: 700,
    unit: "ft³",
    source:
      "450 to 700 ft³ in makers' manuals, as quoted by a guide of 2026; a state programme asks about 750 ft³",
    evidence: "quoted",
  },
  least: {
    value: 450,
    unit: "ft³",
    source: "least of the makers' manuals, as quoted by a guide of 2026",
    evidence: "quoted",
  },
} as const satisfies Record<string, SourcedValue>;

/** Net free area of louvres that opens a closet to the room beside it. */
export const LOUVRE_AREA: SourcedValue = {
  value: 240,
  unit: "in²",
  source: "common practice, no source",
  evidence: "trade",
};

export type RoomAir = {
  /** The room with every space that is open to it without a door. */
  readonly volumeCubicFeet: number;
  /** Net free area of louvres to the next room in square inches; null when there are none. */
  readonly louvreSquareInches: number | null;
  /** Ducts bring and take the air. */
  readonly isDucted: boolean;
};

export type AirCheck = {
  /** What to answer to "room air or ducting"; unknown where the manual decides. */
  readonly answer: Answer;
  readonly sentence: string;
};

/**
 * Whether a heat pump gets enough air in a room: 1,000 ft³ and more pass, below 450 ft³ only ducts
 * help, and between them louvres, ducts or the manual decide.
 * @throws {RangeError} when the volume is not above zero or the louvres are negative.
 */
export function checkRoomAir({ volumeCubicFeet, louvreSquareInches, isDucted }: RoomAir): AirCheck {
  requirePositive("volumeCubicFeet", volumeCubicFeet);
  requireAtLeastZero("louvreSquareInches", louvreSquareInches ?? 0);
  const { enough, manual, least } = AIR_VOLUME;
  const volume = `${Math.round(volumeCubicFeet).toLocaleString("en-US")} ft³`;
  if (volumeCubicFeet >= enough.value) {
    return { answer: "yes", sentence: `${volume}: enough air without ducts.` };
  }
  if (isDucted) {
    return {
      answer: "yes",
      sentence: `${volume}, with ducts: enough where they are as the manual asks.`,
    };
  }
  if (volumeCubicFeet < least.value) {
    return {
      answer: "no",
      sentence: `${volume}: below the least of the makers' manuals (${least.value} ft³). Louvres alone do not help; it needs ducts.`,
    };
  }
  if ((louvreSquareInches ?? 0) >= LOUVRE_AREA.value) {
    return {
      answer: "yes",
      sentence: `${volume}, with louvres of at least ${LOUVRE_AREA.value} in².`,
    };
  }
  return volumeCubicFeet >= manual.value
    ? {
        answer: "unknown",
        sentence: `${volume}: less than ${enough.value.toLocaleString("en-US")} ft³. The manual of the unit decides; louvres of ${LOUVRE_AREA.value} in² or ducts settle it.`,
      }
    : {
        answer: "no",
        sentence: `${volume}: needs louvres of at least ${LOUVRE_AREA.value} in² or ducts.`,
      };
}

/**
 * Room volume that appliances with open burners need for combustion air, in cubic feet: 50 for every
 * 1,000 Btu/h of all of them together (standard method of NFPA 54, as in appendix J of the California
 * Plumbing Code 2016). Direct-vent appliances bring their own air and do not count.
 */
export function combustionAirCubicFeet(inputBtuPerHour: number): number {
  return (50 * requireAtLeastZero("inputBtuPerHour", inputBtuPerHour)) / 1_000;
}

export type CombustionAirCheck = {
  readonly neededCubicFeet: number;
  /** False: the space is confined and air has to come from outside or from other rooms. */
  readonly isEnough: boolean;
};

/** Whether a room gives its open burners enough air by itself. */
export function checkCombustionAir(
  roomCubicFeet: number,
  inputBtuPerHour: number,
): CombustionAirCheck {
  requirePositive("roomCubicFeet", roomCubicFeet);
  const neededCubicFeet = combustionAirCubicFeet(inputBtuPerHour);
  return { neededCubicFeet, isEnough: roomCubicFeet >= neededCubicFeet };
}

/** What a common vent is left with when one appliance leaves it. */
export type VentLeftBehind = {
  /** Input that stays, as a share of what the vent was made for; null when it is not known. */
  readonly shareLeft: number | null;
  readonly sentence: string;
};

/**
 * The draft of the appliances that stay on a common vent when the water heater leaves it. A vent made
 * for both is likely too large for the rest, which then drafts poorly or spills (makers' installation
 * manuals under "removal from common vent"; International Residential Code M1801, as summarised): the
 * vent is sized anew and every appliance left on it is tested.
 *
 * @param removedBtuPerHour input of the heater that leaves; null when not on record
 * @param leftBtuPerHour input of all that stays on the vent; null when not known
 */
export function ventLeftBehind(
  removedBtuPerHour: number | null,
  leftBtuPerHour: number | null,
): VentLeftBehind {
  const removed =
    removedBtuPerHour === null ? null : requireAtLeastZero("removedBtuPerHour", removedBtuPerHour);
  const left =
    leftBtuPerHour === null ? null : requireAtLeastZero("leftBtuPerHour", leftBtuPerHour);
  const shareLeft =
    removed === null || left === null || removed + left === 0 ? null : left / (removed + left);
  const test =
    "The vent is sized anew for what stays, and each appliance left on it is tested for spillage.";
  return {
    shareLeft,
    sentence:
      shareLeft === null
        ? `Other gas appliances stay on this vent, which is likely too large for them alone. ${test}`
        : `${Math.round(100 * shareLeft)} % of the input stays on a vent that was made for all of it, likely too large then. ${test}`,
  };
}
