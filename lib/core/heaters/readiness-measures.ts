import { z } from "zod";
import { type AirCheck, checkCombustionAir, checkRoomAir, ventLeftBehind } from "./air";
import { checkCondensateFall } from "./condensate";
import type { Answer } from "./vocabulary";

/** What may be measured at a heater's place, by survey item. */
export const MEASURES = {
  "air-volume": z.strictObject({
    lengthFt: z.number().positive().max(500),
    widthFt: z.number().positive().max(500),
    heightFt: z.number().positive().max(100),
    /** Net free area of louvres to the next room; null when there are none. */
    louvreSquareInches: z.number().min(0).max(20_000).nullable(),
    isDucted: z.boolean(),
  }),
  "condensate-route": z.strictObject({
    runFt: z.number().min(0).max(500),
    /** Down to the drain; negative when the drain is higher. */
    fallIn: z.number().min(-600).max(600),
  }),
  "common-vent": z.strictObject({
    /** Input of the other appliances on the vent. */
    leftBtuPerHour: z.number().positive().max(10_000_000),
    /** Room that they take their air from; null when not measured. */
    roomCubicFeet: z.number().positive().max(1_000_000).nullable(),
  }),
} as const;
export type MeasuredItem = keyof typeof MEASURES;

export type MeasuresOf<I extends MeasuredItem> = z.output<(typeof MEASURES)[I]>;
export type SurveyMeasures = { readonly [I in MeasuredItem]: MeasuresOf<I> }[MeasuredItem];

export function isMeasuredItem(item: string): item is MeasuredItem {
  return Object.hasOwn(MEASURES, item);
}

/** What the numbers say. */
export type MeasuredAdvice = {
  /** What they answer to the item's question; null where they answer none. */
  readonly answer: Answer | null;
  readonly sentences: readonly string[];
};

/**
 * What measures mean for their item, by the published rules. It advises; the person on site answers.
 *
 * @param measures as stored, of any shape: what does not fit the item's schema gives null
 * @param inputBtuPerHour burner input of the heater that would leave; null when not on record
 */
export function adviseByMeasures(
  item: MeasuredItem,
  measures: unknown,
  inputBtuPerHour: number | null,
): MeasuredAdvice | null {
  switch (item) {
    case "air-volume": {
      const read = MEASURES["air-volume"].safeParse(measures);
      return read.success ? asAdvice(airOf(read.data)) : null;
    }
    case "condensate-route": {
      const read = MEASURES["condensate-route"].safeParse(measures);
      return read.success ? asAdvice(checkCondensateFall(read.data)) : null;
    }
    case "common-vent": {
      const read = MEASURES["common-vent"].safeParse(measures);
      return read.success ? ventAdvice(read.data, inputBtuPerHour) : null;
    }
  }
}

const asAdvice = ({ answer, sentence }: AirCheck): MeasuredAdvice => ({
  answer,
  sentences: [sentence],
});

function airOf({ lengthFt, widthFt, heightFt, ...air }: MeasuresOf<"air-volume">): AirCheck {
  return checkRoomAir({ volumeCubicFeet: lengthFt * widthFt * heightFt, ...air });
}

function ventAdvice(
  { leftBtuPerHour, roomCubicFeet }: MeasuresOf<"common-vent">,
  inputBtuPerHour: number | null,
): MeasuredAdvice {
  const sentences = [ventLeftBehind(inputBtuPerHour, leftBtuPerHour).sentence];
  if (roomCubicFeet !== null) {
    const { neededCubicFeet, isEnough } = checkCombustionAir(roomCubicFeet, leftBtuPerHour);
    const needed = Math.round(neededCubicFeet).toLocaleString("en-US");
    sentences.push(
      isEnough
        ? `What stays needs ${needed} ft³ of room air and has it.`
        : `What stays needs ${needed} ft³ of room air and has ${Math.round(roomCubicFeet).toLocaleString("en-US")}: a confined space, air has to come from outside.`,
    );
  }
  return { answer: null, sentences };
}
