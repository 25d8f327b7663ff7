import type { Heater } from "@/lib/core/heaters/heater";
import { calendarDay } from "@/lib/core/shared/calendar-day";
import { aHeater } from "@/test/support/a-heater";

/** A gas tank of 2022 in moderately hard water that is not softened, with no service on record. */
export function makeHeater(changes: Partial<Heater> = {}): Heater {
  const installed = calendarDay("2022-03-15");
  return aHeater({
    install: { earliest: installed, latest: installed, evidence: "invoice" },
    water: { ...aHeater().water, hardnessMgPerLitre: 100, softened: "no" },
    ...changes,
  });
}
