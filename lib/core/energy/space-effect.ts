import type { Fuel } from "@/lib/core/heaters/vocabulary";
import { BTU_PER_KWH, BTU_PER_THERM } from "@/lib/core/shared/units";
import { type Monthly, sumOf } from "./months";

/** How the home around a heater is heated and cooled. */
export type SpaceConditioning = {
  readonly heatingFuel: Fuel;
  /** Heat into the rooms per unit of energy: about 0.8 for a furnace, 1 for resistance, 2 to 4 for a heat pump. */
  readonly heatingEfficiency: number;
  /** Heat removed per unit of electricity; null without mechanical cooling. */
  readonly coolingEfficiency: number | null;
};

/**
 * What a heater inside the home does to its heating and cooling. A heat pump takes its heat from the
 * rooms: in winter the heating makes it up, in summer it spares the air conditioner. A warm tank does
 * the opposite. Positive energy is more use, negative is less.
 */
export type SpaceEffect = {
  /** Net heat taken from conditioned rooms over the year, Btu; negative when the tank warms them. */
  readonly takenBtuPerYear: number;
  /** Therms of {@link SpaceConditioning.heatingFuel}; null when the home's heating is not known. */
  readonly thermsPerYear: number | null;
  /** Electricity for heating and cooling; null when the home's heating is not known. */
  readonly kwhPerYear: number | null;
};

/**
 * Outdoor monthly means below which a home is heated and above which it is cooled, degrees Fahrenheit
 * (our assumption; apartments with neighbours on all sides are heated less).
 */
const HEATED_BELOW_F = 60;
const COOLED_ABOVE_F = 72;

/** The effect of `takenBtu` by month on the home's heating and cooling. */
export function spaceEffectOf({
  takenBtu,
  outdoorAirF,
  conditioning,
}: {
  readonly takenBtu: Monthly;
  readonly outdoorAirF: Monthly;
  readonly conditioning: SpaceConditioning | null;
}): SpaceEffect {
  const takenBtuPerYear = sumOf(takenBtu);
  if (conditioning === null) return { takenBtuPerYear, thermsPerYear: null, kwhPerYear: null };

  let heatingBtu = 0;
  let coolingBtu = 0;
  takenBtu.forEach((btu, month) => {
    const airF = outdoorAirF[month] as number;
    if (airF < HEATED_BELOW_F) heatingBtu += btu / conditioning.heatingEfficiency;
    else if (airF > COOLED_ABOVE_F && conditioning.coolingEfficiency !== null) {
      coolingBtu -= btu / conditioning.coolingEfficiency;
    }
  });
  const heatsWithElectricity = conditioning.heatingFuel === "electricity";
  return {
    takenBtuPerYear,
    thermsPerYear: heatsWithElectricity ? 0 : heatingBtu / BTU_PER_THERM,
    kwhPerYear: (coolingBtu + (heatsWithElectricity ? heatingBtu : 0)) / BTU_PER_KWH,
  };
}
