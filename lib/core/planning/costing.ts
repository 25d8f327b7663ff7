import type { Answer, Fuel, ReadinessItem, Technology } from "@/lib/core/heaters/vocabulary";
import { isCombustion } from "@/lib/core/heaters/vocabulary";
import { roundToCents } from "@/lib/core/shared/money";
import {
  COST_PARTS,
  type CostPart,
  forbiddingRule,
  isEarnedOn,
  type OptionTerms,
  PART_OF_READINESS,
  READINESS_PARTS,
  type ReplacementOption,
} from "./options";
import { termsAt } from "./plant-conversion";
import type { PlanChoice, PlanHeater, PlanLock } from "./problem";
import { indexAt, type PricedPeriod, pricedPeriods, type ScenarioTerms } from "./scenario";

/** What one water heater uses in a year at today's prices and emission factors. */
export type DeviceUse = {
  readonly energy: readonly EnergyUse[];
  /** Refrigerant in kg CO2e a year: leakage, and the loss at the end of its life spread over that life. */
  readonly refrigerantKgPerYear: number;
  readonly maintenanceCentsPerYear: number;
};

export type EnergyUse = {
  readonly fuel: Fuel;
  readonly centsPerYear: number;
  /** kg CO2e a year. */
  readonly kgPerYear: number;
  readonly paidBy: "owner" | "resident";
};

/** What costing must know of one heater. */
export type CostingInput = {
  readonly id: string;
  readonly building: string;
  readonly technology: Technology;
  /** At the start of the first period; null when not known, and then no age limit applies. */
  readonly ageYears: number | null;
  /** Chance of failing in each period, given that it stands at the period's start. */
  readonly conditionalFailure: readonly number[];
  readonly now: DeviceUse;
  /** By option code; an option without an entry is not offered to this heater. */
  readonly after: Readonly<Record<string, DeviceUse>>;
  /** An item that is absent is not known. */
  readonly readiness: Readonly<Partial<Record<ReadinessItem, Answer>>>;
  /**
   * Items whose answer was carried over from a like home: priced as answered, but seen by nobody, so
   * that they make no emergency swap possible and no line firm. Absent for none.
   */
  readonly inferred?: readonly ReadinessItem[];
  /** Expansion is controlled already, or needs no control. */
  readonly expansionControlled: Answer;
  readonly mixingValve: Answer;
  /** Homes behind the heater; absent for one. A shared plant is priced for them all. */
  readonly homesServed?: number;
  /**
   * Homes of the central plant that its group converts to, all together or none; absent where it converts
   * to none. Then nothing but that plant is planned for it.
   */
  readonly plantHomes?: number;
  /** Programmes whose money is spoken for by other heaters; absent for none. */
  readonly closedProgrammes?: readonly string[];
  /** Other gas appliances share its vent and stay there; absent where there is none. */
  readonly commonVent?: Answer;
  /**
   * What an emergency costs beyond the planned swap to the same equipment, undiscounted: premium,
   * damage, days without hot water.
   */
  readonly consequenceCents: number;
  readonly lock?: PlanLock | null;
};

/** The parts of a cost in present value; their sum, in this order, is the cost. */
export const PRICE_PARTS = [
  "plannedSwap",
  "readinessWork",
  "incentive",
  "emergency",
  "energyBefore",
  "energyAfter",
  "maintenance",
  "carbon",
  "salvage",
] as const;
export type PricePart = (typeof PRICE_PARTS)[number];
export type PriceParts = Readonly<Record<PricePart, number>>;

export const PRICE_PART_LABELS: Readonly<Record<PricePart, string>> = {
  plannedSwap: "Planned swap",
  readinessWork: "Work still missing in the closet",
  incentive: "Incentives",
  emergency: "Expected emergencies before it",
  energyBefore: "Energy of the heater there now",
  energyAfter: "Energy after",
  maintenance: "Upkeep",
  carbon: "Carbon price",
  salvage: "Value left at the end of the horizon",
};

export type PricedChoice = PlanChoice & {
  readonly parts: PriceParts;
  /** Chance that the heater fails before this swap. */
  readonly failsBefore: number;
  /** Survey answers that are not known; they block a firm line, not a budget line. */
  readonly unknownReadiness: readonly ReadinessItem[];
};

export type PricedHeater = Omit<PlanHeater, "choices"> & {
  readonly choices: readonly PricedChoice[];
  /** Leaving it, priced the same way, even where the age limit forbids it. */
  readonly left: { readonly costCents: number; readonly kg: number; readonly parts: PriceParts };
  /** Options that are not offered, and why. */
  readonly refused: readonly { readonly option: string; readonly reason: string }[];
};

/** A scenario prepared for pricing many heaters. */
export type CostingContext = {
  readonly terms: ScenarioTerms;
  readonly periods: readonly PricedPeriod[];
  readonly options: ReadonlyMap<string, ReplacementOption>;
  /** Installed cost relative to today's, by period. */
  readonly installIndex: Float64Array;
  readonly priceIndex: ReadonlyMap<Fuel, Float64Array>;
  readonly gridIndex: Float64Array;
  /** 1 where a period's emissions count against the cap. */
  readonly counted: Uint8Array;
  readonly endDiscount: number;
  readonly horizonYears: number;
};

/**
 * @throws {RangeError} when the scenario names an option that the catalogue does not have.
 */
export function prepareCosting(
  terms: ScenarioTerms,
  catalogue: readonly ReplacementOption[],
): CostingContext {
  const periods = pricedPeriods(terms.periods, terms.realDiscountRate);
  const options = new Map(catalogue.map((option) => [option.code, option]));
  const named = [...terms.options, ...terms.emergency.otherwise];
  if (terms.emergency.whenReady !== null) named.push(terms.emergency.whenReady);
  for (const code of named) {
    if (!options.has(code)) throw new RangeError(`the catalogue has no option "${code}"`);
  }
  const { startDay } = terms;
  const series = (of: (period: PricedPeriod) => number) => Float64Array.from(periods, of);
  const last = periods[periods.length - 1];
  const horizonYears = last.startsAfterYears + last.years;
  return {
    terms,
    periods,
    options,
    installIndex: series(
      ({ startsAfterYears, years }) =>
        (1 + terms.installCostChangePerYear) ** (startsAfterYears + years / 2),
    ),
    priceIndex: new Map(
      (["natural-gas", "propane", "fuel-oil", "electricity"] as const).map((fuel) => [
        fuel,
        series(({ start }) => indexAt(terms.energyPrices[fuel], startDay, start)),
      ]),
    ),
    gridIndex: series(({ start }) => indexAt(terms.gridEmissions, startDay, start)),
    counted: Uint8Array.from(periods, ({ budgetYear }) =>
      terms.emissionCap?.budgetYear == null || terms.emissionCap.budgetYear === budgetYear ? 1 : 0,
    ),
    endDiscount: (1 + terms.realDiscountRate) ** -horizonYears,
    horizonYears,
  };
}

/**
 * Prices every choice of one heater, and leaving it, in present value.
 *
 * The heater stands at the start of period s with probability S(s) and fails in it with f(s); what an
 * emergency then gets stays to the horizon's end, and the planned line falls away. A planned swap
 * happens at its period's start with probability S(t). A period in which it fails is shared half and
 * half by the old and the new heater. docs/methods/planning.md has the formula and a worked example.
 *
 * @throws {RangeError} when a probability or the consequence is outside its range, or an emergency
 * option has no energy use.
 */
export function priceHeater(context: CostingContext, input: CostingInput): PricedHeater {
  const { periods, terms } = context;
  requireInput(context, input);
  const T = periods.length;
  const risk = survivalOf(input.conditionalFailure);
  const now = deviceStreams(context, input.now);
  const cache = new Map<string, Device>();
  const device = (code: string): Device => {
    const known = cache.get(code);
    if (known) return known;
    const made = describeDevice(context, input, code);
    cache.set(code, made);
    return made;
  };

  // What has happened by the start of each period, in parts: the heater's own running cost, and the
  // whole future of an emergency at the moment it happens.
  const before = Array.from({ length: T + 1 }, () => new Float64Array(PRICE_PARTS.length));
  const kgBefore = new Float64Array(T + 1);
  for (let s = 0; s < T; s++) {
    const { discount } = periods[s];
    const fails = risk.fails[s];
    const oldShare = risk.alive[s] - fails / 2;
    const parts = before[s].slice();
    add(parts, "energyBefore", oldShare * now.energy[s]);
    add(parts, "maintenance", oldShare * now.maintenance[s]);
    add(parts, "carbon", oldShare * now.carbon[s]);
    let kg = kgBefore[s] + oldShare * now.kg[s];
    if (fails > 0) {
      const next = device(emergencyOption(context, input, s));
      add(
        parts,
        "emergency",
        fails * discount * (next.swapCents * next.installIndex[s] + input.consequenceCents),
      );
      add(parts, "energyAfter", fails * next.after("energy", s));
      add(parts, "maintenance", fails * next.after("maintenance", s));
      add(parts, "carbon", fails * next.after("carbon", s));
      add(parts, "salvage", -fails * next.salvage(s));
      kg += fails * next.after("kg", s);
    }
    before[s + 1] = parts;
    kgBefore[s + 1] = kg;
  }

  const deadline = latestPeriod(context, input);
  const refused: { option: string; reason: string }[] = [];
  const choices: PricedChoice[] = [];
  for (const code of terms.options) {
    const option = optionFor(context, input, code);
    if (!option) continue;
    const isPlant = context.options.get(code)?.terms.perHome !== undefined;
    const reason =
      input.plantHomes !== undefined && !isPlant
        ? "its building converts single heaters to a central plant together"
        : refusal(input, option.terms, code);
    if (reason !== null) {
      refused.push({ option: code, reason });
      continue;
    }
    const next = device(code);
    for (let t = 0; t <= Math.min(deadline, T - 1); t++) {
      if (!isAllowed(context, option.terms, t)) continue;
      const { discount, start } = periods[t];
      const stands = risk.alive[t];
      const swapCents = next.swapCents * next.installIndex[t];
      const workCents = next.workCents * next.installIndex[t];
      const incentive = incentiveCents(
        option.terms,
        start,
        swapCents + workCents,
        input.closedProgrammes,
      );
      const parts = before[t].slice();
      add(parts, "plannedSwap", stands * discount * swapCents);
      add(parts, "readinessWork", stands * discount * workCents);
      add(parts, "incentive", -stands * discount * incentive);
      add(parts, "energyAfter", stands * next.from("energy", t));
      add(parts, "maintenance", stands * next.from("maintenance", t));
      add(parts, "carbon", stands * next.from("carbon", t));
      add(parts, "salvage", -stands * next.salvage(t));
      choices.push({
        option: code,
        period: periods[t].id,
        costCents: sum(parts),
        capitalCents: Math.max(0, roundToCents(swapCents + workCents - incentive)),
        hours: option.terms.crewHours.value,
        // A heater that is electric already gives its load back.
        circuit: isCombustion(input.technology) ? option.terms.circuitLoad : 0,
        kg: kgBefore[t] + stands * next.from("kg", t),
        parts: named(parts),
        failsBefore: 1 - stands,
        unknownReadiness: next.unknownReadiness,
      });
    }
  }

  const leftParts = before[T];
  const left = { costCents: sum(leftParts), kg: kgBefore[T], parts: named(leftParts) };
  return {
    id: input.id,
    building: input.building,
    never: deadline < T ? null : { costCents: left.costCents, kg: left.kg },
    choices,
    lock: input.lock ?? null,
    left,
    refused,
  };
}

/** Chance of standing at each period's start (one more than the periods) and of failing in each. */
export function survivalOf(conditionalFailure: readonly number[]): {
  readonly alive: Float64Array;
  readonly fails: Float64Array;
} {
  const T = conditionalFailure.length;
  const alive = new Float64Array(T + 1);
  const fails = new Float64Array(T);
  alive[0] = 1;
  for (let s = 0; s < T; s++) {
    fails[s] = alive[s] * conditionalFailure[s];
    alive[s + 1] = alive[s] - fails[s];
  }
  return { alive, fails };
}

/**
 * What a heater that fails in a period gets: the pre-approved option where every item it needs is
 * known to be there, else the first of the fallbacks that fits the home and the policy dates, else
 * the last of them.
 */
export function emergencyOption(
  context: CostingContext,
  input: Pick<CostingInput, "technology" | "readiness" | "inferred" | "homesServed">,
  period: number,
): string {
  const { whenReady, otherwise } = context.terms.emergency;
  const usable = (code: string) => {
    const option = context.options.get(code);
    return (
      option !== undefined &&
      isAllowed(context, option.terms, period) &&
      (isCombustion(input.technology) || !isCombustion(option.terms.technology)) &&
      fitsHomes(input, option.terms)
    );
  };
  if (whenReady !== null && usable(whenReady)) {
    const needs = context.options.get(whenReady)?.terms.requiredReadiness ?? [];
    const isSeen = (item: ReadinessItem) => !input.inferred?.includes(item);
    if (needs.every((item) => input.readiness[item] === "yes" && isSeen(item))) return whenReady;
  }
  return otherwise.find(usable) ?? otherwise[otherwise.length - 1];
}

/** What the closet still needs for an option, and what is not known about it. */
export type ReadinessWork = {
  /** Expected cents by part, at today's prices. */
  readonly cents: Readonly<Partial<Record<CostPart, number>>>;
  /** Items that nobody has seen. */
  readonly unknown: readonly ReadinessItem[];
  /** Missing items that no part of the option puts right. */
  readonly blockedBy: readonly ReadinessItem[];
};

export function readinessWork(
  input: Pick<
    CostingInput,
    "technology" | "readiness" | "inferred" | "expansionControlled" | "mixingValve" | "commonVent"
  >,
  terms: OptionTerms,
  unknownNeedsWorkShare: number,
): ReadinessWork {
  const cents: Partial<Record<CostPart, number>> = {};
  const unknown: ReadinessItem[] = [];
  const blockedBy: ReadinessItem[] = [];
  const due = (part: CostPart, answer: Answer) => {
    const share = answer === "no" ? 1 : answer === "unknown" ? unknownNeedsWorkShare : 0;
    const price = terms.costs[part]?.likelyCents ?? 0;
    if (share * price > 0) cents[part] = share * price;
  };
  for (const item of terms.requiredReadiness) {
    const answer = input.readiness[item] ?? "unknown";
    if (answer === "unknown" || input.inferred?.includes(item)) unknown.push(item);
    const part = PART_OF_READINESS[item];
    if (part !== undefined && terms.costs[part]) due(part, answer);
    else if (answer === "no") blockedBy.push(item);
  }
  due("expansionControl", input.expansionControlled);
  due("mixingValve", input.mixingValve);
  // Here "yes" is what costs: something stays behind on the vent.
  const vent = input.commonVent ?? "no";
  const isVentClear = vent === "yes" ? "no" : vent === "no" ? "yes" : "unknown";
  if (isCombustion(input.technology)) due("ventLeftBehind", isVentClear);
  return { cents, unknown, blockedBy };
}

/** Why an option is not offered to a heater at all; null when it is. */
function refusal(input: CostingInput, terms: OptionTerms, code: string): string | null {
  if (!input.after[code]) return "no energy use was given for it";
  if (isCombustion(terms.technology) && !isCombustion(input.technology)) {
    return "there is no gas at this heater";
  }
  if (!fitsHomes(input, terms)) return "it serves several homes, and this heater serves one";
  const { blockedBy } = readinessWork(input, terms, 0);
  return blockedBy.length > 0 ? `not possible here: ${blockedBy.join(", ")}` : null;
}

/** A plant for several homes takes the place of a heater that serves several homes, and of no other. */
function fitsHomes({ homesServed = 1 }: Pick<CostingInput, "homesServed">, terms: OptionTerms) {
  return terms.perHome === undefined || homesServed > 1;
}

/** An option as it would be at one heater, grown to the homes behind it. */
function optionFor(
  context: CostingContext,
  input: Pick<CostingInput, "homesServed" | "plantHomes">,
  code: string,
): ReplacementOption | undefined {
  const option = context.options.get(code);
  return option && { ...option, terms: termsAt(option.terms, input) };
}

/** Installed cost of an option relative to today's, by period: its own change a year, or the scenario's. */
export function installIndexOf(context: CostingContext, terms: OptionTerms): Float64Array {
  const own = terms.escalationPerYear;
  if (own === undefined) return context.installIndex;
  return Float64Array.from(
    context.periods,
    ({ startsAfterYears, years }) => (1 + own.value) ** (startsAfterYears + years / 2),
  );
}

/** True when an option may be installed in a period: its own dates and the policy dates allow it. */
function isAllowed(context: CostingContext, terms: OptionTerms, period: number): boolean {
  const { start } = context.periods[period];
  if (terms.validFrom !== null && start < terms.validFrom) return false;
  if (terms.validTo !== null && start > terms.validTo) return false;
  if (forbiddingRule(terms, start) !== null) return false;
  return !context.terms.policies.some(
    (policy) => policy.technologies.includes(terms.technology) && start >= policy.from,
  );
}

/**
 * The last period in which the age limit allows a swap, the number of periods when there is none. A
 * heater past the limit already has the first budget year.
 */
function latestPeriod(context: CostingContext, input: CostingInput): number {
  const limit = context.terms.latestAgeYears;
  const T = context.periods.length;
  if (limit === null || input.ageYears === null) return T;
  const yearsLeft = limit - input.ageYears;
  if (yearsLeft >= context.horizonYears) return T;
  let last = 0;
  context.periods.forEach(({ startsAfterYears, budgetYear }, t) => {
    if (startsAfterYears < yearsLeft) last = t;
    else if (yearsLeft <= 0 && budgetYear === context.periods[0].budgetYear) last = t;
  });
  return last;
}

/** Incentives that a swap on a day earns, each cut to its share of the swap, together to the whole. */
function incentiveCents(
  terms: OptionTerms,
  day: string,
  swapCents: number,
  closed: readonly string[] = [],
): number {
  const earned = terms.incentives.reduce(
    (total, incentive) =>
      isEarnedOn(incentive, day) && !closed.includes(incentive.programme)
        ? total + Math.min(incentive.cents, incentive.maximumShare * swapCents)
        : total,
    0,
  );
  return Math.min(earned, swapCents);
}

/** Present value by period of running a device through it; kilograms are not discounted. */
type Streams = {
  readonly energy: Float64Array;
  readonly maintenance: Float64Array;
  readonly carbon: Float64Array;
  readonly kg: Float64Array;
};

function deviceStreams(context: CostingContext, use: DeviceUse): Streams {
  const flows = deviceFlows(context, use);
  const { carbonCentsPerTonne } = context.terms;
  const discounted = (values: Float64Array) =>
    values.map((value, s) => value * context.periods[s].discount);
  return {
    energy: discounted(flows.energyCents),
    maintenance: discounted(flows.maintenanceCents),
    carbon: discounted(flows.kg.map((kg) => (kg * carbonCentsPerTonne) / 1000)),
    kg: flows.kg.map((kg, s) => (context.counted[s] === 1 ? kg : 0)),
  };
}

/** What a device costs to run and emits through each period, undiscounted, at that period's prices. */
export type DeviceFlows = {
  readonly energyCents: Float64Array;
  readonly maintenanceCents: Float64Array;
  readonly kg: Float64Array;
};

export function deviceFlows(context: CostingContext, use: DeviceUse): DeviceFlows {
  const T = context.periods.length;
  const energyCents = new Float64Array(T);
  const maintenanceCents = new Float64Array(T);
  const kg = new Float64Array(T);
  context.periods.forEach(({ years }, s) => {
    let kgPerYear = use.refrigerantKgPerYear;
    for (const each of use.energy) {
      const weight = each.paidBy === "resident" ? context.terms.residentEnergyWeight : 1;
      const price = context.priceIndex.get(each.fuel)?.[s] ?? 1;
      energyCents[s] += years * weight * price * each.centsPerYear;
      kgPerYear += each.kgPerYear * (each.fuel === "electricity" ? context.gridIndex[s] : 1);
    }
    maintenanceCents[s] = years * use.maintenanceCentsPerYear;
    kg[s] = years * kgPerYear;
  });
  return { energyCents, maintenanceCents, kg };
}

/** An option as it would be at one heater. */
type Device = {
  /** Parts that every swap pays, at today's prices. */
  readonly swapCents: number;
  readonly workCents: number;
  /** Installed cost relative to today's, by period. */
  readonly installIndex: Float64Array;
  readonly unknownReadiness: readonly ReadinessItem[];
  /** Sum of a stream from the start of period t to the horizon's end. */
  readonly from: (stream: keyof Streams, t: number) => number;
  /** The same from the middle of period s. */
  readonly after: (stream: keyof Streams, s: number) => number;
  /**
   * Present value at the horizon's end of a device installed in period t: what it cost times the share
   * of its life that is left. Below zero when its life is over before the end: the share of its
   * successor that the horizon has used.
   */
  readonly salvage: (t: number) => number;
};

function describeDevice(context: CostingContext, input: CostingInput, code: string): Device {
  const option = optionFor(context, input, code);
  const use = input.after[code];
  if (!option || !use) {
    throw new RangeError(`after must hold the energy use of "${code}" for heater "${input.id}"`);
  }
  const { terms } = option;
  const streams = deviceStreams(context, use);
  const tails = {
    energy: tailSums(streams.energy),
    maintenance: tailSums(streams.maintenance),
    carbon: tailSums(streams.carbon),
    kg: tailSums(streams.kg),
  };
  const work = readinessWork(input, terms, context.terms.unknownNeedsWorkShare);
  const swapCents = swapCentsOf(terms, input.technology);
  const life = terms.expectedLifeYears.value;
  const installIndex = installIndexOf(context, terms);
  return {
    swapCents,
    installIndex,
    workCents: Object.values(work.cents).reduce((total, cents) => total + cents, 0),
    unknownReadiness: work.unknown,
    from: (stream, t) => tails[stream][t],
    after: (stream, s) => tails[stream][s + 1] + streams[stream][s] / 2,
    salvage: (t) => {
      const used = context.horizonYears - context.periods[t].startsAfterYears;
      return context.endDiscount * swapCents * installIndex[t] * (1 - used / life);
    },
  };
}

/**
 * What every swap to an option pays, whatever the closet offers, at today's prices. Capping vent and
 * gas is only due where there is gas.
 */
export function swapCentsOf(terms: OptionTerms, technologyNow: Technology): number {
  let cents = 0;
  for (const part of COST_PARTS) {
    if (READINESS_PARTS.has(part)) continue;
    if (part === "ventAndGasCapOff" && !isCombustion(technologyNow)) continue;
    cents += terms.costs[part]?.likelyCents ?? 0;
  }
  return cents;
}

function tailSums(values: Float64Array): Float64Array {
  const tails = new Float64Array(values.length + 1);
  for (let s = values.length - 1; s >= 0; s--) tails[s] = tails[s + 1] + values[s];
  return tails;
}

const PART_INDEX = new Map(PRICE_PARTS.map((part, index) => [part, index]));

function add(parts: Float64Array, part: PricePart, cents: number): void {
  parts[PART_INDEX.get(part) ?? -1] += cents;
}

function sum(parts: Float64Array): number {
  return parts.reduce((total, cents) => total + cents, 0);
}

function named(parts: Float64Array): PriceParts {
  return Object.fromEntries(PRICE_PARTS.map((part, index) => [part, parts[index]])) as PriceParts;
}

function requireInput(context: CostingContext, input: CostingInput): void {
  if (input.conditionalFailure.length !== context.periods.length) {
    throw new RangeError(
      `conditionalFailure must have ${context.periods.length} entries, ` +
        `got ${input.conditionalFailure.length} for heater "${input.id}"`,
    );
  }
  for (const probability of input.conditionalFailure) {
    if (!(probability >= 0 && probability <= 1)) {
      throw new RangeError(
        `conditionalFailure must be from 0 to 1, got ${probability} for heater "${input.id}"`,
      );
    }
  }
  if (!(input.consequenceCents >= 0)) {
    throw new RangeError(
      `consequenceCents must be zero or more, got ${input.consequenceCents} for "${input.id}"`,
    );
  }
}
