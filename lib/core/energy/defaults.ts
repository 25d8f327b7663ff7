import type { Place, Technology } from "@/lib/core/heaters/vocabulary";

/** What stands in for a nameplate value that is not on record. Every use is listed to the user. */
export type TechnologyDefaults = {
  readonly uniformEnergyFactor: number;
  /** Rated volume in US gallons; null where there is no tank. */
  readonly volumeGal: number | null;
  /** Heat input in Btu per hour that recovers the tank. */
  readonly inputBtuPerHour: number;
};

/**
 * Typical products of the last decade: gas tank 40 gallons at the 2017 federal minimum of the medium
 * pattern (0.6483 − 0.0017·V, 10 CFR 430.32(d), from memory), electric tank 50 gallons at its minimum,
 * gas tankless at the 2015 minimum of 0.81 (from memory), heat pump 240 V at 3.3; the rest are our
 * assumptions. A heater older than these minima does somewhat worse.
 */
export const TECHNOLOGY_DEFAULTS: Readonly<Record<Technology, TechnologyDefaults>> = {
  "gas-storage": { uniformEnergyFactor: 0.58, volumeGal: 40, inputBtuPerHour: 40_000 },
  "gas-instantaneous": { uniformEnergyFactor: 0.81, volumeGal: null, inputBtuPerHour: 150_000 },
  "electric-storage": { uniformEnergyFactor: 0.92, volumeGal: 50, inputBtuPerHour: 15_355 },
  "electric-instantaneous": { uniformEnergyFactor: 0.92, volumeGal: null, inputBtuPerHour: 80_000 },
  "heat-pump-storage": { uniformEnergyFactor: 3.3, volumeGal: 50, inputBtuPerHour: 15_355 },
  "heat-pump-plug-in": { uniformEnergyFactor: 2.8, volumeGal: 50, inputBtuPerHour: 9_000 },
  "heat-pump-split": { uniformEnergyFactor: 3.0, volumeGal: 80, inputBtuPerHour: 15_000 },
  "heat-pump-central": { uniformEnergyFactor: 2.5, volumeGal: 500, inputBtuPerHour: 150_000 },
};

/**
 * Setpoint where none is on record: 125 °F, the reference home's (ANSI/RESNET 301-2014 Addendum A, as in
 * NREL's public model source) and the outlet of the rating test. Not a recommendation: against scalds
 * 120 °F is advised (CPSC, as quoted).
 */
export const DEFAULT_SETPOINT_F = 125;

/** People in a home where neither occupants nor bedrooms are on record (our assumption). */
export const DEFAULT_OCCUPANTS = 2;

/** Steady indoor air around a heater inside, degrees Fahrenheit (our assumption). */
export const INDOOR_AIR_F = 70;

/** Spread of hourly outdoor air around its monthly mean, degrees Fahrenheit (our assumption). */
export const OUTDOOR_AIR_SPREAD_F = 9;

/**
 * How far the air at a place follows the outdoors (0 indoors, 1 outdoors) and whether it is heated with
 * the home. Our assumptions: a louvred exterior closet is warmed a little by the wall it shares, an
 * attached garage stands half-way.
 */
export const PLACE_SURROUNDINGS: Readonly<
  Record<Place, { readonly outdoorShare: number; readonly conditioned: boolean }>
> = {
  "interior-closet": { outdoorShare: 0, conditioned: true },
  "exterior-closet": { outdoorShare: 0.7, conditioned: false },
  garage: { outdoorShare: 0.5, conditioned: false },
  "utility-room": { outdoorShare: 0, conditioned: true },
  laundry: { outdoorShare: 0, conditioned: true },
  kitchen: { outdoorShare: 0, conditioned: true },
  basement: { outdoorShare: 0.25, conditioned: false },
  attic: { outdoorShare: 1, conditioned: false },
  "mechanical-room": { outdoorShare: 0.2, conditioned: false },
  roof: { outdoorShare: 1, conditioned: false },
  other: { outdoorShare: 0.2, conditioned: false },
};
