import type { BuildingPlant } from "@/lib/core/heaters/building-plant";
import type { Heater } from "@/lib/core/heaters/heater";
import { requirePositive } from "@/lib/core/shared/requirements";
import {
  type CostPart,
  type MoneyRange,
  type OptionTerms,
  READINESS_PARTS,
  termsForHomes,
} from "./options";

/** Heaters that give way to one central plant, all in the same period or not at all. */
export type ConversionGroup = {
  readonly id: string;
  readonly heaters: readonly string[];
  /** Homes that the plant serves. */
  readonly homes: number;
};

/**
 * The groups of heaters that buildings offer to convert to a central plant. A heater whose riser is not on
 * record stands in no group of risers, and a group of one heater is none: there is nothing to bring
 * together. A central heat pump that is there already stays what it is.
 *
 * A stack of the planner binds all that its heaters are given: a heater of a group is offered the central
 * option and no swap of its own.
 *
 * @param plants by building, as the plant screen keeps them; buildings without one offer no group
 */
export function conversionGroups(
  heaters: readonly Pick<Heater, "id" | "buildingId" | "technology" | "home">[],
  plants: ReadonlyMap<string, Pick<BuildingPlant, "scope">>,
): readonly ConversionGroup[] {
  const groups = new Map<string, { heaters: string[]; homes: number }>();
  for (const { id, buildingId, technology, home } of heaters) {
    const scope = plants.get(buildingId)?.scope ?? "none";
    if (scope === "none" || technology === "heat-pump-central") continue;
    if (scope === "riser" && home.riser === null) continue;
    const key = JSON.stringify(scope === "riser" ? [buildingId, home.riser] : [buildingId]);
    const group = groups.get(key) ?? { heaters: [], homes: 0 };
    group.heaters.push(id);
    group.homes += home.homesServed;
    groups.set(key, group);
  }
  return [...groups]
    .filter(([, group]) => group.heaters.length > 1)
    .map(([key, group]) => ({ id: `plant ${key}`, ...group }));
}

/** Parts that every heater that goes brings with it, however many homes the plant serves. */
const PARTS_OF_EACH_HEATER: ReadonlySet<CostPart> = new Set<CostPart>([
  "ventAndGasCapOff",
  "ventLeftBehind",
  "disposal",
]);

/**
 * What one heater of a group bears of the plant: the homes behind it by their number, and its own part of
 * what the plant costs once. Over a group the shares add up to the plant, with the cap-off and disposal
 * of every heater. Circuit, panel, condensate, floor and noise are those of the plant's room, not of the
 * closets: nothing is asked of these, and that work is paid in full as work in the plant room.
 *
 * @throws {RangeError} when there are no homes, or more behind the heater than behind the plant
 */
export function termsInPlant(
  { perHome, ...terms }: OptionTerms,
  homes: number,
  homesOfPlant: number,
): OptionTerms {
  requirePositive("homes", homes);
  if (!(homesOfPlant >= homes)) {
    throw new RangeError(`homesOfPlant must be at least ${homes}, got ${homesOfPlant}`);
  }
  const share = homes / homesOfPlant;
  const grown = termsForHomes({ ...terms, ...(perHome && { perHome }) }, homesOfPlant);
  const costs: Partial<Record<CostPart, MoneyRange>> = {};
  for (const [part, range] of Object.entries(grown.costs) as [CostPart, MoneyRange][]) {
    const isOwn = PARTS_OF_EACH_HEATER.has(part);
    const into = !isOwn && READINESS_PARTS.has(part) ? "plantRoom" : part;
    costs[into] = added(costs[into], isOwn ? range : scaled(range, share));
  }
  const { refrigerant, volumeGal } = grown;
  return {
    ...terms,
    costs,
    volumeGal: volumeGal === null ? null : volumeGal * share,
    crewHours: { ...grown.crewHours, value: grown.crewHours.value * share },
    circuitLoad: grown.circuitLoad * share,
    refrigerant: refrigerant && {
      ...refrigerant,
      chargeKg: { ...refrigerant.chargeKg, value: refrigerant.chargeKg.value * share },
    },
    requiredReadiness: [],
    maintenanceCentsPerYear: {
      ...grown.maintenanceCentsPerYear,
      value: grown.maintenanceCentsPerYear.value * share,
    },
  };
}

/**
 * An option's terms at one heater: grown to the homes behind it, or as its share of the central plant that
 * its group converts to.
 * @param at `plantHomes` are the homes of that plant; absent where the heater converts to none
 */
export function termsAt(
  terms: OptionTerms,
  { homesServed = 1, plantHomes }: { readonly homesServed?: number; readonly plantHomes?: number },
): OptionTerms {
  return plantHomes !== undefined && terms.perHome !== undefined
    ? termsInPlant(terms, homesServed, plantHomes)
    : termsForHomes(terms, homesServed);
}

function added(sum: MoneyRange | undefined, range: MoneyRange): MoneyRange {
  if (!sum) return range;
  return {
    ...sum,
    lowCents: sum.lowCents + range.lowCents,
    likelyCents: sum.likelyCents + range.likelyCents,
    highCents: sum.highCents + range.highCents,
  };
}

function scaled(range: MoneyRange, share: number): MoneyRange {
  return {
    ...range,
    lowCents: Math.round(range.lowCents * share),
    likelyCents: Math.round(range.likelyCents * share),
    highCents: Math.round(range.highCents * share),
  };
}

/** What a conversion costs in all, cents: the plant for its homes, and every heater that goes. */
export function conversionCosts(
  terms: OptionTerms,
  heaterCount: number,
  homes: number,
): Pick<MoneyRange, "lowCents" | "likelyCents" | "highCents"> {
  requirePositive("heaterCount", heaterCount);
  const { costs } = termsForHomes(terms, homes);
  const sum = (key: "lowCents" | "likelyCents" | "highCents") =>
    (Object.entries(costs) as [CostPart, MoneyRange][]).reduce(
      (total, [part, range]) =>
        total + range[key] * (PARTS_OF_EACH_HEATER.has(part) ? heaterCount : 1),
      0,
    );
  return {
    lowCents: sum("lowCents"),
    likelyCents: sum("likelyCents"),
    highCents: sum("highCents"),
  };
}
