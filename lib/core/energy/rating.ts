import type { Nameplate } from "@/lib/core/heaters/heater";
import { estimateFirstHourGal, recoveryGph } from "@/lib/core/heaters/sizing";
import { hasTank, isCombustion, isHeatPump, type Technology } from "@/lib/core/heaters/vocabulary";
import { BTU_PER_KWH } from "@/lib/core/shared/units";
import { TECHNOLOGY_DEFAULTS } from "./defaults";
import { patternOfFirstHourRating } from "./draw-pattern";
import type { Rating } from "./heater-day";
import { estimateRecoveryEfficiency } from "./storage-tank";

/** What a nameplate may say; null where it does not. */
export type PlateValues = Pick<
  Nameplate,
  "volumeGal" | "inputBtuPerHour" | "inputWatts" | "uniformEnergyFactor" | "firstHourGal"
>;

/** A complete rating from what the nameplate says; each value that had to be assumed is added to `assumed`. */
export function ratingOf(technology: Technology, plate: PlateValues, assumed: string[]): Rating {
  const defaults = TECHNOLOGY_DEFAULTS[technology];
  const tank = hasTank(technology);
  const uniformEnergyFactor = recordedOr(
    defaults.uniformEnergyFactor,
    {
      recorded: plate.uniformEnergyFactor,
      isPossible: (value) => isPossibleFactor(technology, value),
      words: (value) => `uniform energy factor ${value}`,
    },
    assumed,
  );
  const volumeGal =
    defaults.volumeGal === null
      ? null
      : recordedOr(
          defaults.volumeGal,
          {
            recorded: plate.volumeGal,
            isPossible: isAboveZero,
            words: (value) => `tank of ${value} gallons`,
          },
          assumed,
        );
  const inputBtuPerHour = inputOf(technology, plate, assumed);
  const firstHourGal =
    plate.firstHourGal !== null && isAboveZero(plate.firstHourGal) ? plate.firstHourGal : null;
  const drawPattern = patternOfFirstHourRating(
    firstHourGal ??
      firstHourOf(
        volumeGal,
        recoveryGph(
          inputBtuPerHour,
          isCombustion(technology) ? estimateRecoveryEfficiency(uniformEnergyFactor) : 1,
        ),
      ),
  );
  if (tank && firstHourGal === null) assumed.push(`rated in the ${drawPattern} draw pattern`);
  return { uniformEnergyFactor, drawPattern, volumeGal, inputBtuPerHour };
}

function firstHourOf(volumeGal: number | null, gallonsPerHour: number): number {
  return volumeGal === null ? gallonsPerHour : estimateFirstHourGal(volumeGal, gallonsPerHour);
}

/** Heat input in Btu per hour. It matters for burners; elsewhere it only helps to estimate the first hour. */
function inputOf(technology: Technology, plate: PlateValues, assumed: string[]): number {
  const { inputBtuPerHour } = TECHNOLOGY_DEFAULTS[technology];
  if (technology === "gas-storage") {
    return recordedOr(
      inputBtuPerHour,
      {
        recorded: plate.inputBtuPerHour,
        isPossible: isPossibleBurner,
        words: (value) => `burner of ${value} Btu per hour`,
      },
      assumed,
    );
  }
  // A compressor's watts say little of the heat it makes.
  const watts = isHeatPump(technology) || isCombustion(technology) ? null : plate.inputWatts;
  return watts !== null && isAboveZero(watts) ? (watts * BTU_PER_KWH) / 1000 : inputBtuPerHour;
}

/** The recorded value where it can be true; else the stand-in, told in words. */
export function recordedOr(
  standIn: number,
  {
    recorded,
    isPossible,
    words,
  }: {
    readonly recorded: number | null;
    readonly isPossible: (value: number) => boolean;
    readonly words: (value: number) => string;
  },
  assumed: string[],
): number {
  if (recorded !== null && isPossible(recorded)) return recorded;
  const why = recorded === null ? "" : ` (on record, but impossible: ${recorded})`;
  assumed.push(words(standIn) + why);
  return standIn;
}

/** Below 1 where heat is made, from 1 to 8 where it is moved. */
export function isPossibleFactor(technology: Technology, factor: number): boolean {
  return isHeatPump(technology) ? factor >= 1 && factor <= 8 : factor > 0.05 && factor < 1;
}

/** Btu per hour. A tank's burner below this could not heat its own test's draw within the day. */
export function isPossibleBurner(inputBtuPerHour: number): boolean {
  return inputBtuPerHour >= 5_000;
}

function isAboveZero(value: number): boolean {
  return value > 0;
}
