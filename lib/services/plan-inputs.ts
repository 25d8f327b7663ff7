import { annualEmissions, type EmissionLine } from "@/lib/core/emissions/annual-emissions";
import {
  type FactorBook,
  isGridRegion,
  PUBLISHED_BOOK,
  REFRIGERANTS,
  type Refrigerant,
  refrigerantFactor,
} from "@/lib/core/emissions/factors";
import { DEFAULT_GWP_SET } from "@/lib/core/emissions/gases";
import {
  computeEnergy,
  type EnergyInput,
  energyInputOf,
  energyInputOfOption,
} from "@/lib/core/energy/annual-energy";
import type { BuildingPlant } from "@/lib/core/heaters/building-plant";
import type { Heater, Site } from "@/lib/core/heaters/heater";
import { effectiveAnswers, readinessOf, type SurveyItem } from "@/lib/core/heaters/readiness";
import {
  type Answer,
  type Fuel,
  isCombustion,
  isHeatPump,
  type ReadinessItem,
  type Technology,
} from "@/lib/core/heaters/vocabulary";
import type { CostingContext, CostingInput, DeviceUse } from "@/lib/core/planning/costing";
import type { OptionTerms, ReplacementOption } from "@/lib/core/planning/options";
import {
  type ConversionGroup,
  conversionGroups,
  termsAt,
} from "@/lib/core/planning/plant-conversion";
import type { PlanBuilding } from "@/lib/core/planning/problem";
import { shareOutProgrammes } from "@/lib/core/planning/programme-caps";
import { type CalendarDay, yearOf, yearsBetween } from "@/lib/core/shared/calendar-day";
import { type Cents, formatCents, roundToCents } from "@/lib/core/shared/money";
import type { SourcedValue } from "@/lib/core/shared/sourced";
import { type ConsequenceAssumptions, estimateLoss } from "@/lib/core/survival/consequence";
import type { SurvivalModel } from "@/lib/core/survival/model";
import { conditionalFailures, forecastFailure } from "@/lib/core/survival/predict";
import type { BuildingRecord } from "@/lib/data/plans";
import { type AssumptionNote, AssumptionTally } from "./plan-assumptions";
import { sizeOptions } from "./plan-sizing";

/** What the plan takes where the record has no field for it. Shown beside every plan. */
export const PLAN_ASSUMPTIONS = {
  mobilisationCents: assumed(
    40_000,
    "cents a building and period",
    "one crew's trip, set-up and notices to residents",
  ),
  annualLeakShare: assumed(0.01, "of the charge a year", "a sealed factory-charged circuit"),
  endOfLifeLossShare: assumed(0.5, "of the charge", "half of the units are recovered properly"),
} as const satisfies Record<string, SourcedValue>;

/** Everything from the record that a plan is computed from. */
export type PlanRecord = {
  readonly heaters: readonly Heater[];
  readonly sites: ReadonlyMap<string, Site>;
  /** Survey answers by heater. */
  readonly readiness: ReadonlyMap<string, Readonly<Partial<Record<SurveyItem, Answer>>>>;
  /** Of them, those that were carried over from a like home and seen by nobody; absent for none. */
  readonly inferred?: ReadonlyMap<string, readonly ReadinessItem[]>;
  readonly buildings: readonly BuildingRecord[];
  /** Central plants by building; absent for none. */
  readonly plants?: ReadonlyMap<string, Pick<BuildingPlant, "scope">>;
  /** Yearly upkeep of a heater from the own work log, by technology; absent where it rests on too little. */
  readonly upkeepCents?: ReadonlyMap<Technology, Cents>;
};

export type PlanModels = {
  readonly survival: SurvivalModel;
  readonly consequences: ConsequenceAssumptions;
  readonly factors: FactorBook;
};

export type PlanInputs = {
  readonly heaters: readonly CostingInput[];
  /** By heater: codes of the options that are too small for its home. */
  readonly tooSmall: ReadonlyMap<string, ReadonlySet<string>>;
  readonly buildings: readonly PlanBuilding[];
  /** Heaters that convert to a central plant together, where the scenario has an option for one. */
  readonly conversions: readonly ConversionGroup[];
  readonly assumptions: readonly AssumptionNote[];
};

/**
 * What costing must know of every heater and building: chances of failing by period, energy, cost and
 * emissions now and after each option, the survey's answers, what a failure costs.
 *
 * @param today the day as of which the record is read, at or before the first period's start
 */
export function preparePlanInputs(
  context: CostingContext,
  record: PlanRecord,
  models: PlanModels,
  today: CalendarDay,
): PlanInputs {
  const tally = new AssumptionTally();
  const [firstPeriod] = context.periods;
  const waitYears = yearsBetween(today, firstPeriod.start);
  const ends = context.periods.map(
    ({ startsAfterYears, years }) => waitYears + startsAfterYears + years,
  );
  const options = usedOptions(context);
  const emissions = new EmissionRates(models.factors, yearOf(today), tally);

  const planned = options.filter(({ code }) => context.terms.options.includes(code));
  const conversions = planned.some(({ terms }) => terms.perHome !== undefined)
    ? conversionGroups(record.heaters, record.plants ?? new Map())
    : [];
  const plantHomesOf = new Map(
    conversions.flatMap(({ heaters: members, homes }) => members.map((id) => [id, homes] as const)),
  );
  const tooSmall = new Map<string, ReadonlySet<string>>();
  const priced = record.heaters.map((heater): CostingInput => {
    const site = record.sites.get(heater.propertyId);
    if (!site) throw new RangeError(`heater ${heater.tag} stands in a property without a record`);
    const failures = conditionalFailures(
      models.survival,
      heater,
      today,
      waitYears > 0 ? [waitYears, ...ends] : ends,
    );
    const forecast = forecastFailure(models.survival, heater, { today, horizonsYears: [] });
    const answers = effectiveAnswers(
      heater,
      Object.entries(record.readiness.get(heater.id) ?? {}).map(([item, answer]) => ({
        item: item as SurveyItem,
        answer,
        basis: "seen" as const,
      })),
    );
    const inferred = record.inferred?.get(heater.id) ?? [];
    if (inferred.length > 0) {
      tally.add("record", "Closet answers carried over from a like home, seen by nobody");
    }
    const sized = sizeOptions(heater, site, planned);
    tooSmall.set(heater.id, sized.tooSmall);
    if (sized.largestIsShort) {
      tally.add("plan", "No option is large enough for the busiest hour: the largest is planned");
    }
    tally.countHeater(heater, forecast.ageIsEstimated, record.readiness.has(heater.id));
    const paidBy = heater.unitId === null ? "owner" : "resident";
    if (paidBy === "resident")
      tally.add("plan", "The residents pay for the energy of their home’s heater");
    const energyContext = { today };
    const { homesServed } = heater.home;
    const plantHomes = plantHomesOf.get(heater.id);
    if (plantHomes !== undefined) {
      tally.add("plan", "Heaters that are only planned to give way to a central plant together");
    }
    const deviceUse = (
      input: EnergyInput,
      device: Pick<DeviceUse, "refrigerantKgPerYear" | "maintenanceCentsPerYear">,
    ): DeviceUse => ({ ...device, energy: energyUses(input, site, emissions, paidBy) });

    const now = energyInputOf(heater, site, energyContext);
    for (const words of now.assumed) tally.add("energy", words);
    const alike = optionLike(heater.technology, context.options);
    const upkeepOf = (technology: Technology, catalogue: number): number =>
      record.upkeepCents?.get(technology) ?? catalogue;
    return {
      id: heater.id,
      building: heater.buildingId,
      technology: heater.technology,
      ageYears: forecast.ageYears + waitYears,
      conditionalFailure: Array.from(waitYears > 0 ? failures.subarray(1) : failures),
      now: deviceUse(now, {
        refrigerantKgPerYear: alike ? refrigerantKgPerYear(alike.terms) : 0,
        maintenanceCentsPerYear: upkeepOf(
          heater.technology,
          alike?.terms.maintenanceCentsPerYear.value ?? 0,
        ),
      }),
      after: Object.fromEntries(
        options
          .map(({ code, terms }) => ({ code, terms: termsAt(terms, { homesServed, plantHomes }) }))
          .map(({ code, terms }) => [
            code,
            deviceUse(
              energyInputOfOption(
                heater,
                site,
                {
                  technology: terms.technology,
                  volumeGal: terms.volumeGal,
                  uniformEnergyFactor: terms.uniformEnergyFactor.value,
                  inputWatts: terms.inputWatts?.value ?? null,
                },
                energyContext,
              ),
              {
                refrigerantKgPerYear: refrigerantKgPerYear(terms),
                maintenanceCentsPerYear: upkeepOf(
                  terms.technology,
                  terms.maintenanceCentsPerYear.value,
                ),
              },
            ),
          ]),
      ),
      readiness: readinessOf(answers),
      inferred,
      homesServed,
      ...(plantHomes !== undefined && { plantHomes }),
      commonVent: answers["common-vent"].answer,
      expansionControlled: heater.closedSystem === "no" ? "yes" : heater.expansionControl,
      mixingValve: heater.mixingValve,
      consequenceCents: estimateLoss(heater, 1, models.consequences).ifItFails.totalCents,
    };
  });

  const { closed, shares } = shareOutProgrammes(
    planned,
    priced.map(({ id, technology, homesServed = 1, plantHomes, conditionalFailure }) => ({
      id,
      urgency: conditionalFailure[0] ?? 0,
      options: planned
        .filter(
          ({ code, terms }) =>
            !tooSmall.get(id)?.has(code) &&
            (plantHomes === undefined
              ? terms.perHome === undefined || homesServed > 1
              : terms.perHome !== undefined) &&
            (isCombustion(technology) || !isCombustion(terms.technology)),
        )
        .map(({ code }) => code),
    })),
  );
  const heaters = priced.map((input): CostingInput => {
    const closedProgrammes = closed.get(input.id);
    return closedProgrammes ? { ...input, closedProgrammes } : input;
  });
  for (const { programme, capCents, offered, claimants } of shares) {
    tally.addProgramme(
      `${programme} pays at most ${formatCents(capCents, { whole: true })} in all: offered to the heaters likeliest to fail`,
      offered,
      claimants,
    );
  }

  const occupied = new Set(record.heaters.map((heater) => heater.buildingId));
  const buildings = record.buildings.filter(({ id }) => occupied.has(id));
  for (const building of buildings) tally.countBuilding(building);
  tally.addOptions(options);
  tally.addValues("consequence", models.consequences);
  tally.addValues("plan", PLAN_ASSUMPTIONS);
  for (const [technology, cents] of record.upkeepCents ?? []) {
    tally.addOwnUpkeep(technology, cents);
  }
  const technologies = new Set(record.heaters.map((heater) => heater.technology));
  for (const technology of technologies) {
    tally.addLifetime(technology, models.survival);
  }
  return {
    heaters,
    tooSmall,
    buildings: buildings.map((building) => ({
      id: building.id,
      headroom: building.headroomCircuits,
      upgrade:
        building.upgradeCostCents === null || building.upgradeAddsCircuits === null
          ? null
          : { cents: building.upgradeCostCents, adds: building.upgradeAddsCircuits },
      mobilisationCents: PLAN_ASSUMPTIONS.mobilisationCents.value,
    })),
    conversions,
    assumptions: tally.notes({ heaters: heaters.length, buildings: buildings.length }),
  };
}

/** Options that the scenario may plan or give in an emergency. */
function usedOptions({ terms, options }: CostingContext): readonly ReplacementOption[] {
  const { whenReady, otherwise } = terms.emergency;
  const codes = new Set([
    ...terms.options,
    ...otherwise,
    ...(whenReady === null ? [] : [whenReady]),
  ]);
  return [...options.values()].filter(({ code }) => codes.has(code));
}

/** The catalogue's option that is like the heater of today: its upkeep and refrigerant stand for it. */
function optionLike(
  technology: Technology,
  options: ReadonlyMap<string, ReplacementOption>,
): ReplacementOption | undefined {
  const all = [...options.values()];
  return (
    all.find(({ terms }) => terms.technology === technology) ??
    all.find(({ terms }) => isHeatPump(terms.technology) === isHeatPump(technology))
  );
}

function energyUses(
  input: EnergyInput,
  site: Site,
  emissions: EmissionRates,
  paidBy: "owner" | "resident",
): DeviceUse["energy"] {
  const year = computeEnergy(input);
  const electricCents =
    year.thermsPerYear === 0
      ? year.costCentsPerYear
      : roundToCents(year.kwhPerYear * site.electricityCentsPerKwh);
  const uses: DeviceUse["energy"][number][] = [];
  if (year.thermsPerYear > 0) {
    uses.push({
      fuel: input.fuel,
      centsPerYear: year.costCentsPerYear - electricCents,
      kgPerYear: year.thermsPerYear * emissions.kgPerTherm(input.fuel),
      paidBy,
    });
  }
  if (year.kwhPerYear > 0) {
    uses.push({
      fuel: "electricity",
      centsPerYear: electricCents,
      kgPerYear: year.kwhPerYear * emissions.kgPerKwh(site.gridRegion),
      paidBy,
    });
  }
  return uses;
}

/** Leakage and the loss at the end of its life, spread over that life. */
function refrigerantKgPerYear(terms: OptionTerms): number {
  if (terms.refrigerant === null) return 0;
  const { type, chargeKg } = terms.refrigerant;
  if (!isRefrigerant(type)) throw new RangeError(`no warming potential for refrigerant "${type}"`);
  const gwp = refrigerantFactor(type, DEFAULT_GWP_SET).value;
  const lostShare =
    PLAN_ASSUMPTIONS.annualLeakShare.value +
    PLAN_ASSUMPTIONS.endOfLifeLossShare.value / terms.expectedLifeYears.value;
  return chargeKg.value * gwp * lostShare;
}

function isRefrigerant(name: string): name is Refrigerant {
  return (REFRIGERANTS as readonly string[]).includes(name);
}

/** Location-based kg CO2e of one unit of energy, each looked up once. */
class EmissionRates {
  readonly #known = new Map<string, number>();

  constructor(
    private readonly factors: FactorBook,
    private readonly year: number,
    private readonly tally: AssumptionTally,
  ) {}

  kgPerTherm(fuel: Fuel): number {
    return this.#rate(fuel, () => this.#lines({ fuel, gridRegion: "US", therms: 1, kwh: 0 }));
  }

  kgPerKwh(gridRegion: string): number {
    const region = isGridRegion(this.factors, gridRegion) ? gridRegion : "US";
    if (region !== gridRegion) {
      this.tally.add("emissions", `grid region "${gridRegion}" is not in the table: US average`);
    }
    return this.#rate(region, () =>
      this.#lines({ fuel: "electricity", gridRegion: region, therms: 0, kwh: 1 }),
    );
  }

  #rate(key: string, lines: () => readonly EmissionLine[]): number {
    const known = this.#known.get(key);
    if (known !== undefined) return known;
    let kg = 0;
    for (const line of lines()) {
      if (line.method === "market") continue;
      kg += line.kgCo2e;
      this.tally.addFactor(line.factor);
    }
    this.#known.set(key, kg);
    return kg;
  }

  #lines(use: { fuel: Fuel; gridRegion: string; therms: number; kwh: number }) {
    return annualEmissions({
      thermsPerYear: use.therms,
      kwhPerYear: use.kwh,
      fuel: use.fuel,
      gridRegion: use.gridRegion,
      year: this.year,
      factors: this.factors,
    }).lines;
  }
}

/** Factors of this program; an organisation's own rows are laid over them where it has any. */
export const PLAN_FACTORS: FactorBook = PUBLISHED_BOOK;

function assumed(value: number, unit: string, source: string): SourcedValue {
  return { value, unit, source, evidence: "assumed" };
}
