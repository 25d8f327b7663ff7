import { requirePositive } from "@/lib/core/shared/requirements";

/**
 * The simplified water-heater equation (WHAM): Lutz, Whitehead, Lekov, Winiarski and Rosenquist,
 * "WHAM: A Simplified Energy Consumption Equation for Water Heaters", ASHRAE Transactions 105 (1999).
 *
 *   input = delivered/recovery · (1 − UA·(tank − air)/power) + 24·UA·(tank − air)   Btu a day
 *
 * The bracket takes back the standing loss of the hours the burner runs: the recovery efficiency
 * already contains it. The parameters are confirmed; the expression itself is from memory and is held
 * to its own UA formula by a round-trip test.
 */
export type StorageTank = {
  /** Share of the burner's or element's heat that enters the water while it heats, 0 to 1. */
  readonly recoveryEfficiency: number;
  /** Standing loss per degree, Btu per hour and °F. */
  readonly lossBtuPerHourF: number;
  /** Burner input in Btu per hour; Infinity leaves the bracket out (see {@link electricTankOf}). */
  readonly powerBtuPerHour: number;
};

/** Conditions of one day at a tank. */
export type TankDay = {
  readonly deliveredBtu: number;
  readonly tankF: number;
  readonly airF: number;
};

/** Input in Btu for one day of a storage heater. */
export function tankInputBtuPerDay(tank: StorageTank, day: TankDay): number {
  const lossBtuPerHour = tank.lossBtuPerHourF * Math.max(0, day.tankF - day.airF);
  return (
    (day.deliveredBtu / tank.recoveryEfficiency) * (1 - lossBtuPerHour / tank.powerBtuPerHour) +
    24 * lossBtuPerHour
  );
}

/**
 * Standing-loss coefficient UA in Btu per hour and °F that makes a tank reach its rated factor in its
 * own test: UA = (1/factor − 1/recovery) / ((tank − air)·(24/delivered − 1/(recovery·power))).
 * Formula seen in the first author's public source (published).
 *
 * @throws {RangeError} when the factor is not below the recovery efficiency, which no tank can do.
 */
export function standingLossOf({
  ratedFactor,
  recoveryEfficiency,
  powerBtuPerHour,
  test,
}: {
  readonly ratedFactor: number;
  readonly recoveryEfficiency: number;
  readonly powerBtuPerHour: number;
  readonly test: TankDay;
}): number {
  requirePositive("ratedFactor", ratedFactor);
  if (ratedFactor > recoveryEfficiency) {
    throw new RangeError(
      `ratedFactor ${ratedFactor} must not exceed recoveryEfficiency ${recoveryEfficiency}`,
    );
  }
  return (
    (1 / ratedFactor - 1 / recoveryEfficiency) /
    ((test.tankF - test.airF) *
      (24 / test.deliveredBtu - 1 / (recoveryEfficiency * powerBtuPerHour)))
  );
}

/**
 * Recovery efficiency of a combustion tank from its uniform energy factor, for records that carry no
 * recovery efficiency: energy factor = 0.9066·UEF + 0.0711 (RESNET interpretation 301-2014-012, a
 * regression on products, not a conversion), then 0.252·EF + 0.608 below EF 0.75 and 0.561·EF + 0.439
 * from there on. Both seen in NREL's public model source (quoted).
 */
export function estimateRecoveryEfficiency(uniformEnergyFactor: number): number {
  const energyFactor = 0.9066 * uniformEnergyFactor + 0.0711;
  const efficiency =
    energyFactor < 0.75 ? 0.252 * energyFactor + 0.608 : 0.561 * energyFactor + 0.439;
  return Math.min(0.99, Math.max(efficiency, uniformEnergyFactor));
}

/** A combustion tank that meets its rated factor in the test day given. */
export function combustionTankOf(
  uniformEnergyFactor: number,
  powerBtuPerHour: number,
  test: TankDay,
): StorageTank {
  const recoveryEfficiency = estimateRecoveryEfficiency(uniformEnergyFactor);
  const lossBtuPerHourF = standingLossOf({
    ratedFactor: uniformEnergyFactor,
    recoveryEfficiency,
    powerBtuPerHour,
    test,
  });
  return { recoveryEfficiency, lossBtuPerHourF, powerBtuPerHour };
}

/**
 * A tank with resistance elements that meets its rated factor in the test day given. An immersed
 * element puts all of its heat into the water and no loss hides in a recovery efficiency, so the loss
 * runs all 24 hours: UA = delivered·(1/factor − 1)/((tank − air)·24), Burch and Erickson (NREL 2004),
 * seen in NREL's public model source.
 */
export function electricTankOf(uniformEnergyFactor: number, test: TankDay): StorageTank {
  const lossBtuPerHourF = standingLossOf({
    ratedFactor: Math.min(1, uniformEnergyFactor),
    recoveryEfficiency: 1,
    powerBtuPerHour: Number.POSITIVE_INFINITY,
    test,
  });
  return { recoveryEfficiency: 1, lossBtuPerHourF, powerBtuPerHour: Number.POSITIVE_INFINITY };
}
