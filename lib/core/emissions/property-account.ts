import {
  burntFuel,
  computeMonthlyUse,
  energyInputOf,
  type MonthlyUse,
} from "@/lib/core/energy/annual-energy";
import { type Calibration, calibrate } from "@/lib/core/energy/calibration";
import {
  intersect,
  type MeterReading,
  type ModelledUse,
  meteredPeriods,
  type Period,
  unitsInPeriod,
  yearPeriod,
} from "@/lib/core/energy/meter-readings";
import { metersOfHeater } from "@/lib/core/energy/meters";
import { sumOf } from "@/lib/core/energy/months";
import { energyContextOf, type PropertyEnergy } from "@/lib/core/energy/property-energy";
import type { Site } from "@/lib/core/heaters/heater";
import { type Fuel, isCombustion, isHeatPump } from "@/lib/core/heaters/vocabulary";
import { type CalendarDay, dayFromParts, yearOf } from "@/lib/core/shared/calendar-day";
import { BTU_PER_KWH, BTU_PER_THERM } from "@/lib/core/shared/units";
import { type AccountEntry, entryOfLoss, entryOfRow } from "./account-entries";
import { type AccountRow, rowsOfYear } from "./account-rows";
import type { Basis } from "./annual-emissions";
import { attributeChange } from "./attribution";
import type { FactorBook } from "./factors";
import type { GwpSet } from "./gases";
import { type LocationRates, locationRates } from "./location-rates";
import {
  type RefrigerantEvent,
  type RefrigerantLoss,
  type RefrigerantTerms,
  refrigerantLosses,
} from "./refrigerant-account";
import { type HeaterLife, type Service, serviceHistory } from "./service-history";

/** Everything on record that a property's emissions follow from. */
export type PropertyRecord = {
  readonly propertyId: string;
  readonly site: Site;
  readonly energy: PropertyEnergy;
  readonly lives: readonly HeaterLife[];
  readonly readings: readonly MeterReading[];
  readonly refrigerantLog: readonly RefrigerantEvent[];
};

/** The years and rules of an account. */
export type AccountFrame = {
  /** First year of the path; later years are compared with it. */
  readonly baseYear: number;
  /** Year whose assumptions are counted. */
  readonly reportingYear: number;
  readonly lastYear: number;
  readonly book: FactorBook;
  readonly gwpSet: GwpSet;
  readonly refrigerantTerms: RefrigerantTerms;
};

/** What a change since the base year comes from, kg CO2e, location-based. */
export const CHANGE_CAUSES = [
  "swaps",
  "grid",
  "care",
  "occupancy",
  "structure",
  "unexplained",
] as const;
export type ChangeCause = (typeof CHANGE_CAUSES)[number];

export const CHANGE_CAUSE_LABELS: Readonly<Record<ChangeCause, string>> = {
  swaps: "Swaps",
  grid: "Grid and fuel factors",
  care: "Care and scale",
  occupancy: "Occupancy",
  structure: "Homes added or given up",
  unexplained: "Meters against the model",
};

export type PropertyYear = {
  readonly year: number;
  readonly entries: readonly AccountEntry[];
  /** Heaters that served in the year, a heater before the first on record included. */
  readonly heaters: number;
  /** Swaps on record in the year. */
  readonly swaps: number;
  /** Of those, swaps from a burner to a heat pump. */
  readonly swapsToHeatPump: number;
  /** Share of the energy (by heat) that meters read. */
  readonly meteredShare: number;
  /** All scopes together, location-based. */
  readonly kgCo2e: number;
  /** The same year with the base year's heaters: what the swaps since then avoid; no part of the account. */
  readonly kgCo2eWithoutSwaps: number;
  readonly change: Readonly<Record<ChangeCause, number>>;
};

export type PropertyAccount = {
  readonly propertyId: string;
  readonly gridRegion: string;
  /** Null without readings beside which the model has heaters. */
  readonly calibration: Calibration | null;
  readonly years: readonly PropertyYear[];
  /** What was assumed, in words, and of how many heaters of the reporting year. */
  readonly assumed: ReadonlyMap<string, number>;
};

/**
 * The emissions of a property's water heating year by year: from real days of swaps and from meters
 * where they were read, from the model elsewhere, the two never in one row.
 *
 * Method: docs/methods/emissions.md, "Achieved".
 *
 * @throws {RangeError} when the years are out of order or the book lacks a factor.
 */
export function accountProperty(record: PropertyRecord, frame: AccountFrame): PropertyAccount {
  return new PropertyAccountant(record, frame).account();
}

/** A heater's service within one year. */
type YearService = { readonly service: Service; readonly period: Period };

/** Energy of a fleet under stated conditions. */
type EnergySums = { readonly therms: Map<Fuel, number>; kwh: number };

class PropertyAccountant {
  readonly #rates = new Map<number, LocationRates>();
  readonly #monthly = new Map<string, MonthlyUse>();
  readonly #servicesOf = new Map<number, readonly YearService[]>();
  readonly #heatersOf = new Map<number, ReadonlySet<string>>();
  readonly #window: Period;
  readonly #services: readonly Service[];
  readonly #vagueSwaps: number;
  readonly #calibration: Calibration | null;
  /** What modelled energy is multiplied by. */
  readonly #factor: number;

  constructor(
    readonly record: PropertyRecord,
    readonly frame: AccountFrame,
  ) {
    const { baseYear, reportingYear, lastYear } = frame;
    if (!(baseYear <= reportingYear && reportingYear <= lastYear)) {
      throw new RangeError(
        `baseYear ${baseYear}, reportingYear ${reportingYear} and lastYear ${lastYear} must be in order`,
      );
    }
    this.#window = {
      from: dayFromParts(baseYear, 1, 1),
      to: dayFromParts(lastYear, 12, 31),
    };
    const history = serviceHistory(record.lives, this.#window);
    this.#services = history.services.flatMap((service) => this.#whileHeld(service));
    this.#vagueSwaps = history.vagueSwaps;
    this.#calibration = this.#calibrate();
    this.#factor =
      record.energy.usesCalibration && this.#calibration ? this.#calibration.factor : 1;
  }

  account(): PropertyAccount {
    const { baseYear, lastYear, reportingYear } = this.frame;
    const years: PropertyYear[] = [];
    let base: PropertyYear | null = null;
    for (let year = baseYear; year <= lastYear; year++) {
      const done = this.#yearOf(year, base);
      base ??= done;
      years.push(done);
    }
    return {
      propertyId: this.record.propertyId,
      gridRegion: this.#ratesOf(reportingYear).gridRegion,
      calibration: this.#calibration,
      years,
      assumed: this.#assumedIn(reportingYear),
    };
  }

  #whileHeld(service: Service): readonly Service[] {
    const { heldFrom, heldTo } = this.record.energy;
    const held = intersect(service.period, {
      from: heldFrom ?? this.#window.from,
      to: heldTo ?? this.#window.to,
    });
    return held ? [{ ...service, period: held }] : [];
  }

  #in(year: number): readonly YearService[] {
    let known = this.#servicesOf.get(year);
    if (!known) {
      known = this.#services.flatMap((service) => {
        const period = intersect(service.period, yearPeriod(year));
        return period ? [{ service, period }] : [];
      });
      this.#servicesOf.set(year, known);
    }
    return known;
  }

  #serves(heaterId: string, year: number): boolean {
    let ids = this.#heatersOf.get(year);
    if (!ids) {
      ids = new Set(this.#in(year).map(({ service }) => service.heater.id));
      this.#heatersOf.set(year, ids);
    }
    return ids.has(heaterId);
  }

  #ratesOf(year: number): LocationRates {
    let known = this.#rates.get(year);
    if (!known) {
      known = locationRates({ ...this.frame, year, gridRegion: this.record.site.gridRegion });
      this.#rates.set(year, known);
    }
    return known;
  }

  #occupancyIn(year: number): number {
    return this.record.energy.occupiedShare[String(year)] ?? 1;
  }

  /**
   * A heater's months with the care of one year and the occupancy of another, before any factor of
   * the meters.
   */
  #monthlyOf({ heater, share }: Service, careYear: number, occupancyYear: number): MonthlyUse {
    const occupancy = this.#occupancyIn(occupancyYear);
    // Only a burner under a tank feels scale, so only its months depend on the care.
    const care = heater.technology === "gas-storage" ? careYear : 0;
    const key = `${heater.id}/${share}/${care}/${occupancy}`;
    let known = this.#monthly.get(key);
    if (!known) {
      const context = energyContextOf(this.record.energy, {
        today: dayFromParts(careYear, 7, 1),
        shareOfDraw: share * occupancy,
      });
      known = computeMonthlyUse(energyInputOf(heater, this.record.site, context));
      this.#monthly.set(key, known);
    }
    return known;
  }

  #calibrate(): Calibration | null {
    const { readings } = this.record;
    if (readings.length === 0) return null;
    const years = new Set(readings.flatMap(({ from, to }) => yearsOf(from, to)));
    const uses = [...years].flatMap((year) =>
      this.#in(year).flatMap(({ service, period }): ModelledUse[] => {
        const { therms, kwh } = this.#monthlyOf(service, year, year);
        const { buildingId } = service.heater;
        return [
          { buildingId, fuel: burntFuel(service.heater), service: period, monthly: therms },
          { buildingId, fuel: "electricity" as const, service: period, monthly: kwh },
        ].filter(({ monthly }) => sumOf(monthly) > 0);
      }),
    );
    const periods = meteredPeriods(readings.filter(isWithin(this.#window)), uses, btuPerUnit);
    return periods.length > 0 ? calibrate(periods) : null;
  }

  #rowsOf(year: number): readonly AccountRow[] {
    const { readings, energy, propertyId } = this.record;
    const { heldFrom, heldTo } = energy;
    const whole = yearPeriod(year);
    const held = intersect(whole, { from: heldFrom ?? whole.from, to: heldTo ?? whole.to });
    if (!held) return [];
    return rowsOfYear({
      propertyId,
      held,
      meters: energy.meters,
      readings,
      services: this.#in(year).map(({ service, period }) => ({
        heater: service.heater,
        period,
        isFilled: service.isFilled,
        monthly: this.#monthlyOf(service, year, year),
      })),
      factor: this.#factor,
      basis: energy.usesCalibration && this.#calibration ? "calibrated" : "modelled",
    });
  }

  #lossesOf(year: number): readonly RefrigerantLoss[] {
    const { lives, refrigerantLog } = this.record;
    const retired = new Set(lives.flatMap(({ heater, retired }) => (retired ? [heater.id] : [])));
    const lastDay = new Map<string, CalendarDay>();
    const firstDay = new Map<string, CalendarDay>();
    for (const { heater, period } of this.#services) {
      if (!isHeatPump(heater.technology)) continue;
      const first = firstDay.get(heater.id);
      if (first === undefined || period.from < first) firstDay.set(heater.id, period.from);
      const last = lastDay.get(heater.id);
      if (last === undefined || period.to > last) lastDay.set(heater.id, period.to);
    }
    const losses: RefrigerantLoss[] = [];
    for (const { heater } of lives) {
      const from = firstDay.get(heater.id);
      const to = lastDay.get(heater.id);
      if (!from || !to) continue;
      losses.push(
        ...refrigerantLosses(heater, {
          year,
          service: { from, to },
          // A heater still in service at the end of the window, or of the time held, has not been scrapped.
          isRetired: retired.has(heater.id) && to < (this.record.energy.heldTo ?? this.#window.to),
          log: refrigerantLog.filter((event) => event.heaterId === heater.id),
          terms: this.frame.refrigerantTerms,
        }),
      );
    }
    return losses;
  }

  #yearOf(year: number, base: PropertyYear | null): PropertyYear {
    const rows = this.#rowsOf(year);
    const losses = this.#lossesOf(year);
    const rates = this.#ratesOf(year);
    const refrigerantKg = this.#refrigerantKg(losses);
    const kgCo2e =
      rows.reduce((sum, row) => sum + row.units * rates.kgPerUnit(row.fuel), 0) + refrigerantKg;
    const change = base
      ? this.#changeSince(base, year, kgCo2e, refrigerantKg)
      : { causes: NO_CHANGE, withoutSwaps: kgCo2e };
    const heat = (basis: Basis | null) =>
      rows.reduce(
        (sum, row) =>
          basis === null || row.basis === basis ? sum + row.units * btuPerUnit(row.fuel) : sum,
        0,
      );
    const total = heat(null);
    return {
      year,
      entries: this.#entriesOf(rows, losses, rates.gridRegion),
      heaters: new Set(this.#in(year).map(({ service }) => service.heater.id)).size,
      ...this.#swapsIn(year),
      meteredShare: total > 0 ? heat("metered") / total : 0,
      kgCo2e,
      kgCo2eWithoutSwaps: change.withoutSwaps,
      change: change.causes,
    };
  }

  /**
   * Splits the change since the base year. Homes of both years: swaps, factors, care and occupancy by
   * {@link attributeChange}, on the model. Homes of one year only are structure. What the meters say
   * beyond the model is told as such.
   */
  #changeSince(
    base: PropertyYear,
    year: number,
    kgCo2e: number,
    refrigerantKg: number,
  ): { readonly causes: Readonly<Record<ChangeCause, number>>; readonly withoutSwaps: number } {
    const first = this.frame.baseYear;
    const inBoth = intersection(slotsOf(this.#in(first)), slotsOf(this.#in(year)));
    const baseRefrigerantKg = this.#refrigerantKg(this.#lossesOf(first));
    const states = new Map<string, EnergySums>();
    const kgOf = (fleet: number, factors: number, care: number, occupancy: number): number => {
      const key = `${fleet}/${care}/${this.#occupancyIn(occupancy)}`;
      let sums = states.get(key);
      if (!sums) {
        sums = this.#sumsOf(fleet, care, occupancy, (slot) => inBoth.has(slot));
        states.set(key, sums);
      }
      return this.#kgOfSums(sums, factors) + (fleet === first ? baseRefrigerantKg : refrigerantKg);
    };
    const pick = (set: number, bit: number) => ((set & bit) !== 0 ? year : first);
    const [swaps = 0, grid = 0, care = 0, occupancy = 0] = attributeChange(4, (set) =>
      kgOf(pick(set, 1), pick(set, 2), pick(set, 4), pick(set, 8)),
    );
    const only = (fleet: number) =>
      this.#kgOfSums(
        this.#sumsOf(fleet, fleet, fleet, (slot) => !inBoth.has(slot)),
        fleet,
      );
    const structure = only(year) - only(first);
    const explained = swaps + grid + care + occupancy + structure;
    return {
      causes: {
        swaps,
        grid,
        care,
        occupancy,
        structure,
        unexplained: kgCo2e - base.kgCo2e - explained,
      },
      withoutSwaps: kgCo2e + kgOf(first, year, year, year) - kgOf(year, year, year, year),
    };
  }

  /** Modelled energy of one year's heaters with the care and the occupancy of other years. */
  #sumsOf(
    fleet: number,
    careYear: number,
    occupancyYear: number,
    counts: (slot: string) => boolean,
  ): EnergySums {
    const sums: EnergySums = { therms: new Map(), kwh: 0 };
    for (const { service, period } of this.#in(fleet)) {
      if (!counts(service.slot)) continue;
      // Of a heater that was not there in the other year, care is told with its swap.
      const care = this.#serves(service.heater.id, careYear) ? careYear : fleet;
      const { therms, kwh } = this.#monthlyOf(service, care, occupancyYear);
      const fuel = burntFuel(service.heater);
      const units = this.#factor * unitsInPeriod(therms, period);
      if (units > 0) sums.therms.set(fuel, (sums.therms.get(fuel) ?? 0) + units);
      sums.kwh += this.#factor * unitsInPeriod(kwh, period);
    }
    return sums;
  }

  #kgOfSums({ therms, kwh }: EnergySums, factorYear: number): number {
    const { kgPerUnit } = this.#ratesOf(factorYear);
    let kg = kwh * kgPerUnit("electricity");
    for (const [fuel, units] of therms) kg += units * kgPerUnit(fuel);
    return kg;
  }

  #refrigerantKg(losses: readonly RefrigerantLoss[]): number {
    const { kgPerKg } = this.#ratesOf(this.frame.reportingYear);
    return losses.reduce((sum, loss) => sum + loss.kg * kgPerKg(loss.refrigerant), 0);
  }

  #entriesOf(
    rows: readonly AccountRow[],
    losses: readonly RefrigerantLoss[],
    gridRegion: string,
  ): readonly AccountEntry[] {
    const { propertyId, lives } = this.record;
    const buildingOf = new Map(lives.map(({ heater }) => [heater.id, heater.buildingId]));
    return [
      ...rows.map((row) => entryOfRow(row, gridRegion)),
      ...losses.map((loss) =>
        entryOfLoss(loss, {
          propertyId,
          buildingId: buildingOf.get(loss.heaterId) ?? "",
          gridRegion,
        }),
      ),
    ];
  }

  #swapsIn(year: number): { readonly swaps: number; readonly swapsToHeatPump: number } {
    const { lives } = this.record;
    const heaterOf = new Map(lives.map(({ heater }) => [heater.id, heater]));
    const firstDay = new Map<string, CalendarDay>();
    for (const { heater, period, isFilled } of this.#services) {
      if (isFilled) continue;
      const first = firstDay.get(heater.id);
      if (first === undefined || period.from < first) firstDay.set(heater.id, period.from);
    }
    let swaps = 0;
    let swapsToHeatPump = 0;
    for (const { heater, predecessorId } of lives) {
      const first = firstDay.get(heater.id);
      if (predecessorId === null || first === undefined || yearOf(first) !== year) continue;
      if (first === this.#window.from) continue;
      swaps += 1;
      const before = heaterOf.get(predecessorId);
      if (before && isCombustion(before.technology) && isHeatPump(heater.technology)) {
        swapsToHeatPump += 1;
      }
    }
    return { swaps, swapsToHeatPump };
  }

  #assumedIn(year: number): ReadonlyMap<string, number> {
    const words = new Map<string, Set<string>>();
    const note = (text: string, heaterId: string) => {
      const ids = words.get(text) ?? new Set();
      ids.add(heaterId);
      words.set(text, ids);
    };
    for (const { service } of this.#in(year)) {
      const { heater, isFilled } = service;
      const context = energyContextOf(this.record.energy, { today: dayFromParts(year, 7, 1) });
      for (const text of energyInputOf(heater, this.record.site, context).assumed) {
        note(text, heater.id);
      }
      if (metersOfHeater(heater, this.record.energy.meters).isAssumed) {
        note("the home's own meters, bought by the resident", heater.id);
      }
      if (isFilled) note("the first heater on record also before its installation", heater.id);
    }
    for (const loss of this.#lossesOf(year)) {
      if (loss.chargeIsAssumed) note("refrigerant and its charge, by technology", loss.heaterId);
      if (loss.basis === "modelled") note("refrigerant lost, a share of the charge", loss.heaterId);
    }
    const counts = new Map([...words].map(([text, ids]) => [text, ids.size]));
    if (this.#vagueSwaps > 0) {
      counts.set("day of a retirement known to more than a quarter", this.#vagueSwaps);
    }
    return counts;
  }
}

const NO_CHANGE: Readonly<Record<ChangeCause, number>> = {
  swaps: 0,
  grid: 0,
  care: 0,
  occupancy: 0,
  structure: 0,
  unexplained: 0,
};

function btuPerUnit(fuel: Fuel): number {
  return fuel === "electricity" ? BTU_PER_KWH : BTU_PER_THERM;
}

function slotsOf(services: readonly YearService[]): ReadonlySet<string> {
  return new Set(services.map(({ service }) => service.slot));
}

function intersection(a: ReadonlySet<string>, b: ReadonlySet<string>): ReadonlySet<string> {
  return new Set([...a].filter((value) => b.has(value)));
}

function yearsOf(from: CalendarDay, to: CalendarDay): readonly number[] {
  const first = yearOf(from);
  return Array.from({ length: yearOf(to) - first + 1 }, (_, index) => first + index);
}

function isWithin(window: Period): (reading: MeterReading) => boolean {
  return (reading) => reading.from >= window.from && reading.to <= window.to;
}
