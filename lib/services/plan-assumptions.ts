import type { FactorRow } from "@/lib/core/emissions/factors";
import type { Heater } from "@/lib/core/heaters/heater";
import { TECHNOLOGY_LABELS, type Technology } from "@/lib/core/heaters/vocabulary";
import { COST_PART_LABELS, COST_PARTS, type ReplacementOption } from "@/lib/core/planning/options";
import { type Cents, formatCents } from "@/lib/core/shared/money";
import type { Evidence, SourcedValue } from "@/lib/core/shared/sourced";
import { PRIOR_MODEL, type SurvivalModel } from "@/lib/core/survival/model";
import { LIFETIME_PRIORS } from "@/lib/core/survival/priors";
import { meanLife } from "@/lib/core/survival/weibull";
import type { BuildingRecord } from "@/lib/data/plans";

export const ASSUMPTION_GROUPS = [
  "record",
  "energy",
  "lifetime",
  "consequence",
  "catalogue",
  "plan",
  "emissions",
] as const;
export type AssumptionGroup = (typeof ASSUMPTION_GROUPS)[number];

export const ASSUMPTION_GROUP_LABELS: Readonly<Record<AssumptionGroup, string>> = {
  record: "Gaps in the record",
  energy: "Energy of the heaters there now",
  lifetime: "Lifetimes",
  consequence: "What a failure costs",
  catalogue: "Costs and data of the options",
  plan: "The plan itself",
  emissions: "Emission factors",
};

/** One thing that the plan takes as given: what, for how many, on what ground. */
export type AssumptionNote = {
  readonly group: AssumptionGroup;
  readonly text: string;
  /** How many heaters, buildings or values it concerns, of how many; null where it holds for all. */
  readonly count: number | null;
  readonly of: number | null;
  readonly source: string | null;
  /** Null for a gap in the record. */
  readonly evidence: Evidence | null;
};

const CONSEQUENCE_WORDS: Readonly<Record<string, string>> = {
  emergencySwapCents: "Emergency swap, like for like",
  plannedSwapCents: "The same swap, planned",
  leakShare: "Share of failures that leak",
  damageFinishedCents: "Damage where a leak reaches finished rooms",
  damageElsewhereCents: "Damage where it does not",
  remainsWithPan: "Damage that remains with a drained pan",
  remainsWithShutoff: "Damage that remains with a leak shut-off",
  daysWithoutHotWater: "Days without hot water",
  dailyCostPerHomeCents: "Cost of a day without hot water",
  mobilisationCents: "A crew's visit to a building",
  annualLeakShare: "Refrigerant that leaks",
  endOfLifeLossShare: "Refrigerant that escapes at the end of life",
};

/** Counts what is assumed while the inputs of a plan are put together. */
export class AssumptionTally {
  readonly #counts = new Map<string, { group: AssumptionGroup; text: string; count: number }>();
  readonly #notes: AssumptionNote[] = [];
  readonly #factors = new Map<string, FactorRow>();
  #buildingGaps = 0;

  /** One heater more of which this is assumed. */
  add(group: AssumptionGroup, text: string): void {
    const key = `${group}/${text}`;
    const known = this.#counts.get(key);
    if (known) known.count += 1;
    else this.#counts.set(key, { group, text, count: 1 });
  }

  countHeater(heater: Heater, ageIsEstimated: boolean, isSurveyed: boolean): void {
    if (ageIsEstimated) this.add("record", "Install day is a bracket or an estimate");
    if (!isSurveyed)
      this.add("record", "Closet not surveyed: half of the readiness work is expected");
    if (heater.overFinishedSpace === "unknown") {
      this.add("record", "Not known whether a leak reaches finished rooms: by its place");
    }
    if (heater.water.hardnessMgPerLitre === null) this.add("record", "Water hardness not known");
    if (heater.expansionControl === "unknown" && heater.closedSystem !== "no") {
      this.add("record", "Not known whether expansion is controlled");
    }
    if (heater.mixingValve === "unknown")
      this.add("record", "Not known whether a mixing valve is there");
  }

  countBuilding(building: BuildingRecord): void {
    if (!building.serviceKnown) this.#buildingGaps += 1;
  }

  /** Not an assumption, but said where one stood: the log's own upkeep in place of the catalogue's. */
  addOwnUpkeep(technology: Technology, cents: Cents): void {
    this.#notes.push({
      group: "plan",
      text: `Upkeep of a heater of the kind “${TECHNOLOGY_LABELS[technology]}”: ${formatCents(cents)} a year`,
      count: null,
      of: null,
      source: "your own work log of the last five years",
      evidence: "entered",
    });
  }

  addFactor(row: FactorRow): void {
    this.#factors.set(row.id, row);
  }

  addValues(group: AssumptionGroup, values: Readonly<Record<string, SourcedValue>>): void {
    for (const [name, value] of Object.entries(values)) {
      const words = CONSEQUENCE_WORDS[name] ?? name;
      this.#notes.push({
        group,
        text: `${words}: ${wordsOf(value)}`,
        count: null,
        of: null,
        source: value.source,
        evidence: value.evidence,
      });
    }
  }

  /** The lifetime of a technology in the model in use: published, or learnt from the record. */
  addLifetime(technology: Technology, model: SurvivalModel): void {
    const lifetime = model.lifetimes[technology];
    const prior = LIFETIME_PRIORS[technology].meanLife;
    const isPrior = model.method === PRIOR_MODEL.method;
    const years = meanLife(lifetime).toFixed(1);
    this.#notes.push({
      group: "lifetime",
      text: `${TECHNOLOGY_LABELS[technology]}: mean life ${years} years, shape ${lifetime.shape.toFixed(2)}`,
      count: null,
      of: null,
      source: isPrior
        ? prior.source
        : `${model.method}, learnt from your own record; begun from: ${prior.source}`,
      evidence: isPrior ? prior.evidence : "entered",
    });
  }

  /** Each option's cost parts and data that are not entered or published, counted. */
  addOptions(options: readonly ReplacementOption[]): void {
    for (const { name, terms } of options) {
      const parts = COST_PARTS.flatMap((part) => {
        const range = terms.costs[part];
        return range ? [{ words: COST_PART_LABELS[part], evidence: range.evidence }] : [];
      });
      const values = [
        { words: "uniform energy factor", evidence: terms.uniformEnergyFactor.evidence },
        { words: "crew hours", evidence: terms.crewHours.evidence },
        { words: "expected life", evidence: terms.expectedLifeYears.evidence },
        { words: "upkeep", evidence: terms.maintenanceCentsPerYear.evidence },
      ];
      const all = [...parts, ...values];
      const open = all.filter(({ evidence }) => evidence !== "entered" && evidence !== "published");
      if (open.length === 0) continue;
      this.#notes.push({
        group: "catalogue",
        text: `${name}: cost parts and data that are not your own`,
        count: open.length,
        of: all.length,
        source: "the options catalogue says what each rests on",
        evidence: "assumed",
      });
    }
  }

  /** A programme whose money does not reach all who could claim it. */
  addProgramme(text: string, offered: number, claimants: number): void {
    this.#notes.push({
      group: "plan",
      text,
      count: offered,
      of: claimants,
      source: "the options catalogue",
      evidence: "assumed",
    });
  }

  /** Everything counted, group by group, the most frequent first. */
  notes(total: {
    readonly heaters: number;
    readonly buildings: number;
  }): readonly AssumptionNote[] {
    const counted = [...this.#counts.values()]
      .sort((a, b) => b.count - a.count || (a.text < b.text ? -1 : 1))
      .map(
        ({ group, text, count }): AssumptionNote => ({
          group,
          text,
          count,
          of: total.heaters,
          source: null,
          evidence: group === "record" ? null : "assumed",
        }),
      );
    const factors = [...this.#factors.values()].map(
      (row): AssumptionNote => ({
        group: "emissions",
        text: `${row.activity}${row.region ? ` ${row.region}` : ""}, ${row.gas}: ${row.value} ${row.unit} (${row.vintage})`,
        count: null,
        of: null,
        source: row.source,
        evidence: row.evidence,
      }),
    );
    const buildings: readonly AssumptionNote[] =
      this.#buildingGaps === 0
        ? []
        : [
            {
              group: "record",
              text: "Buildings whose electrical service or measured peak is not on record",
              count: this.#buildingGaps,
              of: total.buildings,
              source: null,
              evidence: null,
            },
          ];
    const all = [...counted, ...buildings, ...this.#notes, ...factors];
    return ASSUMPTION_GROUPS.flatMap((group) => all.filter((note) => note.group === group));
  }
}

function wordsOf({ value, unit }: SourcedValue): string {
  if (unit.startsWith("cents")) {
    const rest = unit.slice("cents".length);
    return `${formatCents(value, { whole: true })}${rest.replace(" per ", " a ")}`;
  }
  if (unit === "" || unit.startsWith("of "))
    return `${Math.round(value * 1000) / 10} % ${unit}`.trim();
  return `${value} ${unit}`;
}
