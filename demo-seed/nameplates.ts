import { yearOf } from "@/lib/core/shared/calendar-day";
import { dayText } from "./day-text";
import { MAKERS } from "./names";
import type { DemoHome } from "./places";
import type { DemoRandom } from "./random";
import type { HeaterRow } from "./rows";
import type { DemoTechnology } from "./truth";

type Nameplate = Pick<
  HeaterRow,
  | "manufacturer"
  | "model"
  | "serial"
  | "volumeGal"
  | "inputBtuPerHour"
  | "inputWatts"
  | "uniformEnergyFactor"
  | "firstHourGal"
  | "warrantyYears"
>;

const MODEL_LETTERS: Readonly<Record<DemoTechnology, string>> = {
  "gas-storage": "G",
  "gas-instantaneous": "GT",
  "electric-storage": "E",
  "heat-pump-storage": "H",
  "heat-pump-plug-in": "HP",
};

/** Nameplate of a heater installed on `installDay`, with what the record lacks left out. */
export function makeNameplate(
  random: DemoRandom,
  technology: DemoTechnology,
  home: DemoHome,
  installDay: number,
): Nameplate {
  const maker = random.pick(MAKERS);
  const plate = ratingsOf(random, technology, home);
  const year = yearOf(dayText(installDay)) % 100;
  const serial =
    `${maker.code}${String(year).padStart(2, "0")}${String(random.whole(1, 52)).padStart(2, "0")}` +
    String(random.whole(0, 99_999)).padStart(5, "0");
  const isReadable = !random.chance(0.05);
  return {
    manufacturer: isReadable ? maker.name : null,
    model: isReadable ? `${maker.code}-${MODEL_LETTERS[technology]}${plate.volumeGal ?? ""}` : null,
    serial: isReadable && !random.chance(0.1) ? serial : null,
    volumeGal: random.chance(0.05) ? null : plate.volumeGal,
    inputBtuPerHour: random.chance(0.08) ? null : plate.inputBtuPerHour,
    inputWatts: random.chance(0.08) ? null : plate.inputWatts,
    uniformEnergyFactor: random.chance(0.25) ? null : plate.uniformEnergyFactor,
    firstHourGal: random.chance(0.35) ? null : plate.firstHourGal,
    warrantyYears: random.chance(0.2)
      ? null
      : random.pickWeighted([
          [6, 75],
          [9, 13],
          [12, 12],
        ]),
  };
}

function ratingsOf(random: DemoRandom, technology: DemoTechnology, home: DemoHome) {
  const { bedrooms, bathrooms } = home;
  const small = bedrooms + bathrooms <= 2;
  const large = bedrooms >= 3;
  if (home.unit === null) {
    const volumeGal = random.pick([75, 100]);
    return {
      volumeGal,
      inputBtuPerHour: 76_000,
      inputWatts: null,
      uniformEnergyFactor: hundredths(random, 0.57, 0.61),
      firstHourGal: Math.round(0.7 * volumeGal + 78),
    };
  }
  switch (technology) {
    case "gas-storage": {
      const volumeGal = small ? 30 : large ? random.pick([40, 50]) : 40;
      return {
        volumeGal,
        inputBtuPerHour: random.pick(large ? [38_000, 40_000] : [30_000, 34_000, 36_000]),
        inputWatts: null,
        uniformEnergyFactor: hundredths(random, 0.57, 0.64),
        firstHourGal: Math.round(0.7 * volumeGal + random.between(30, 41)),
      };
    }
    case "gas-instantaneous":
      return {
        volumeGal: null,
        inputBtuPerHour: random.pick([150_000, 180_000, 199_000]),
        inputWatts: null,
        uniformEnergyFactor: hundredths(random, 0.81, 0.95),
        firstHourGal: null,
      };
    case "electric-storage": {
      const volumeGal = small ? 30 : large ? 50 : 40;
      return {
        volumeGal,
        inputBtuPerHour: null,
        inputWatts: random.pick([3_500, 4_500]),
        uniformEnergyFactor: hundredths(random, 0.9, 0.93),
        firstHourGal: Math.round(0.7 * volumeGal + random.between(15, 22)),
      };
    }
    case "heat-pump-storage": {
      const volumeGal = large ? 65 : 50;
      return {
        volumeGal,
        inputBtuPerHour: null,
        inputWatts: 4_500,
        uniformEnergyFactor: hundredths(random, 3.3, 3.9),
        firstHourGal: Math.round(0.7 * volumeGal + random.between(25, 32)),
      };
    }
    case "heat-pump-plug-in": {
      const volumeGal = large ? 65 : 50;
      return {
        volumeGal,
        inputBtuPerHour: null,
        inputWatts: 900,
        uniformEnergyFactor: hundredths(random, 2.8, 3.3),
        firstHourGal: Math.round(0.7 * volumeGal + random.between(8, 14)),
      };
    }
  }
}

function hundredths(random: DemoRandom, low: number, high: number): number {
  return Math.round(100 * random.between(low, high)) / 100;
}
