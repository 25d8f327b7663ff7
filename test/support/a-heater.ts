import type { Heater } from "@/lib/core/heaters/heater";
import { calendarDay } from "@/lib/core/shared/calendar-day";

/** A gas tank of 2015 of which nothing else is known. `changes` replace whole fields. */
export function aHeater(changes: Partial<Heater> = {}): Heater {
  const installed = calendarDay("2015-06-01");
  return {
    id: "heater-1",
    tag: "WH-1",
    propertyId: "property-1",
    buildingId: "building-1",
    unitId: "unit-1",
    technology: "gas-storage",
    fuel: "natural-gas",
    install: { earliest: installed, latest: installed, evidence: "invoice" },
    nameplate: {
      manufacturer: null,
      model: null,
      serial: null,
      volumeGal: 40,
      inputBtuPerHour: 40_000,
      inputWatts: null,
      uniformEnergyFactor: null,
      firstHourGal: null,
    },
    place: "interior-closet",
    overFinishedSpace: "unknown",
    drainPan: "unknown",
    leakShutoff: "unknown",
    closedSystem: "unknown",
    expansionControl: "unknown",
    mixingValve: "unknown",
    setpointF: null,
    warrantyYears: null,
    home: {
      label: null,
      floor: null,
      riser: null,
      bedrooms: null,
      bathrooms: null,
      occupants: null,
      homesServed: 1,
    },
    water: {
      hardnessMgPerLitre: null,
      softened: "unknown",
      ph: null,
      alkalinityMgPerLitre: null,
      dissolvedSolidsMgPerLitre: null,
    },
    care: { flushDays: [], anodeReplacementDays: [], anodeInspection: null, lastDone: {} },
    ...changes,
  };
}
