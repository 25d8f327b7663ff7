import { createHash } from "node:crypto";
import {
  type AccountBasis,
  type AccountEntry,
  EntrySums,
  entryWeigher,
  inventoryOfEntries,
} from "@/lib/core/emissions/account-entries";
import type {
  AccountSummary,
  AchievedDetail,
  AchievedYear,
  PlannedDetail,
  PlannedPortfolioYear,
  PolicyYearSummary,
} from "@/lib/core/emissions/account-summary";
import {
  addTotals,
  locationTotal,
  type MarketContracts,
  NO_TOTALS,
  type ScopeTotals,
} from "@/lib/core/emissions/annual-emissions";
import { type UpstreamMethane, upstreamMethane } from "@/lib/core/emissions/apart";
import { decideBaseYear } from "@/lib/core/emissions/base-year";
import type { EmissionsTerms } from "@/lib/core/emissions/emissions-terms";
import {
  type FactorBook,
  type FactorRow,
  factorBookOf,
  PUBLISHED_FACTORS,
} from "@/lib/core/emissions/factors";
import type { Inventory } from "@/lib/core/emissions/inventory";
import {
  type PlannedSwap,
  type PlannedYear,
  plannedYears,
} from "@/lib/core/emissions/planned-path";
import { checkPolicy, type Policy, type PolicyFinding } from "@/lib/core/emissions/policies";
import {
  accountProperty,
  CHANGE_CAUSES,
  type PropertyAccount,
  type PropertyRecord,
  type PropertyYear,
} from "@/lib/core/emissions/property-account";
import { coveredKg, targetKg } from "@/lib/core/emissions/target";
import { type CalendarDay, yearOf } from "@/lib/core/shared/calendar-day";
import type { RunYear, StoredEntry } from "@/lib/data/emissions-runs";

/** Version of the way from the record to the account; part of the fingerprint. */
export const ACCOUNT_METHOD = "emissions-1";

/** Years that are shown ahead where no plan says how far to look. */
const YEARS_AHEAD = 10;

/** The rules, contracts and policies of an account, as they are kept with it. */
export type AccountRules = {
  readonly terms: EmissionsTerms;
  /** By year; a year without an entry has no contracts. */
  readonly contractsByYear: Readonly<Record<string, MarketContracts>>;
  readonly policies: readonly Policy[];
};

/** A plan as far as the account needs it. */
export type AccountPlan = {
  readonly runId: string;
  readonly scenarioName: string;
  readonly asOf: CalendarDay;
  readonly firstYear: number;
  readonly lastYear: number;
  /** By heater; null for a heater that the plan leaves. */
  readonly lines: ReadonlyMap<string, Omit<PlannedSwap, "heaterId"> | null>;
};

export type AccountInput = {
  /** Year that is accounted for row by row. */
  readonly year: number;
  readonly baseYear: number;
  /** Day as of which the record is read; its year is counted to its end with the heaters of the day. */
  readonly asOf: CalendarDay;
  readonly rules: AccountRules;
  readonly ownFactors: readonly FactorRow[];
  readonly plan: AccountPlan | null;
};

export type FinishedBuild = {
  readonly summary: AccountSummary;
  readonly fingerprint: string;
  /** Factor rows that the reporting year's account uses. */
  readonly factors: readonly FactorRow[];
  readonly years: readonly RunYear[];
};

type PropertyYears = {
  readonly achieved: readonly Omit<RunYear, "kgCo2e">[];
  readonly ahead: readonly RunYear[];
};

/**
 * Makes an organisation's account property by property: beside the rows that it hands back it keeps
 * sums only, so that memory does not grow with the heaters. The same record, rules and plan give the
 * same account and the same fingerprint, whoever computes it.
 */
export class AccountBuilder {
  readonly #book: FactorBook;
  readonly #weigh: (entry: AccountEntry) => number;
  readonly #sums = new Map<number, EntrySums>();
  readonly #achieved = new Map<number, Omit<AchievedYear, "kgCo2e" | "meteredShare">>();
  readonly #path = new Map<number, PlannedPortfolioYear>();
  readonly #policies = new Map<string, PolicyYearSummary>();
  readonly #assumed = new Map<string, number>();
  readonly #years: PropertyYears[] = [];
  readonly #fingerprint: Fingerprint;
  readonly #count = { properties: 0, homes: 0, entries: 0 };

  constructor(readonly input: AccountInput) {
    const { year, baseYear, rules, ownFactors } = input;
    this.#book = factorBookOf([...PUBLISHED_FACTORS, ...ownFactors]);
    this.#weigh = entryWeigher(this.#basisOf(year));
    this.#fingerprint = new Fingerprint({ year, baseYear, rules });
  }

  /**
   * Adds a property.
   * @param homes homes on record in it, for limits that count by the home
   * @returns its rows of the reporting year, numbered on from the properties before
   */
  add(record: PropertyRecord, homes: number): readonly StoredEntry[] {
    const { year, baseYear, asOf, rules } = this.input;
    const account = accountProperty(record, {
      baseYear,
      reportingYear: year,
      lastYear: Math.max(year, yearOf(asOf)),
      book: this.#book,
      gwpSet: rules.terms.gwpSet,
      refrigerantTerms: rules.terms.refrigerant,
    });
    this.#count.properties += 1;
    this.#count.homes += homes;
    for (const [words, heaters] of account.assumed) {
      this.#assumed.set(words, (this.#assumed.get(words) ?? 0) + heaters);
    }
    for (const each of account.years) this.#addYear(each);
    this.#years.push({
      achieved: account.years.map((each) => achievedYear(account, each)),
      ahead: this.#addAhead(record, account, homes),
    });
    return this.#storedEntries(account, record);
  }

  /** The account of every property added. */
  finish(): FinishedBuild {
    const { year, baseYear, rules, plan } = this.input;
    const { terms } = rules;
    const inventories = new Map(
      [...this.#sums].map(([each, sums]) => [each, inventoryOfEntries(sums, this.#basisOf(each))]),
    );
    const reported =
      inventories.get(year) ?? inventoryOfEntries(new EntrySums(), this.#basisOf(year));
    const factors = factorsOf(reported);
    const achieved = inOrder(this.#achieved).map((each) =>
      withTotals(each, inventories.get(each.year)),
    );
    const path = inOrder(this.#path);
    const base = baseOf(coveredKg(totalsIn(inventories.get(baseYear)), terms.coverage), terms);
    const ofYear = achieved.find((each) => each.year === year);
    return {
      fingerprint: this.#fingerprint.digest(factors),
      factors,
      years: this.#yearsWithTotals(inventories),
      summary: {
        year,
        baseYear,
        coverage: terms.coverage,
        gwpSet: terms.gwpSet,
        ...this.#count,
        heaters: ofYear?.heaters ?? 0,
        kgCo2e: reported.kgCo2e,
        kgCo2eByBasis: reported.kgCo2eByBasis,
        lines: reported.lines,
        allocation: reported.allocation,
        notes: reported.notes,
        assumed: [...this.#assumed]
          .map(([words, heaters]) => ({ words, heaters }))
          .sort((a, b) => b.heaters - a.heaters || (a.words < b.words ? -1 : 1)),
        achieved,
        plan: plan && { runId: plan.runId, scenarioName: plan.scenarioName, asOf: plan.asOf },
        path,
        base,
        target: targetLine(this.input, base.comparedKg, path.at(-1)?.year ?? year),
        policies: [...this.#policies.values()].sort(
          (a, b) => a.year - b.year || (a.policyId < b.policyId ? -1 : 1),
        ),
        apart: {
          upstreamMethane: upstreamOf(reported, terms),
          avoidedKg: ofYear ? ofYear.kgCo2eWithoutSwaps - locationTotal(ofYear.kgCo2e) : 0,
        },
      },
    };
  }

  #basisOf(year: number): AccountBasis {
    const { terms, contractsByYear } = this.input.rules;
    const contracts = contractsByYear[String(year)] ?? {
      market: terms.market,
      instruments: [],
      residualMix: null,
    };
    return { year, gwpSet: terms.gwpSet, book: this.#book, contracts };
  }

  #addYear(each: PropertyYear): void {
    let sums = this.#sums.get(each.year);
    if (!sums) {
      sums = new EntrySums();
      this.#sums.set(each.year, sums);
    }
    for (const entry of each.entries) sums.add(entry);
    const before = this.#achieved.get(each.year);
    this.#achieved.set(each.year, {
      year: each.year,
      change: Object.fromEntries(
        CHANGE_CAUSES.map((cause) => [cause, (before?.change[cause] ?? 0) + each.change[cause]]),
      ) as AchievedYear["change"],
      kgCo2eWithoutSwaps: (before?.kgCo2eWithoutSwaps ?? 0) + each.kgCo2eWithoutSwaps,
      heaters: (before?.heaters ?? 0) + each.heaters,
      swaps: (before?.swaps ?? 0) + each.swaps,
      swapsToHeatPump: (before?.swapsToHeatPump ?? 0) + each.swapsToHeatPump,
    });
  }

  #storedEntries(account: PropertyAccount, record: PropertyRecord): readonly StoredEntry[] {
    const heaterOf = new Map(record.lives.map(({ heater }) => [heater.id, heater]));
    const entries = account.years.find((each) => each.year === this.input.year)?.entries ?? [];
    return entries
      .map((entry) => {
        const heater = entry.heaterId === null ? undefined : heaterOf.get(entry.heaterId);
        return { entry, heater, tag: heater?.tag ?? "" };
      })
      .sort((a, b) => compareText(a.tag, b.tag) || compareText(keyOf(a.entry), keyOf(b.entry)))
      .map(({ entry, heater }): StoredEntry => {
        this.#count.entries += 1;
        const stored: StoredEntry = {
          ...entry,
          rowNumber: this.#count.entries,
          tag: heater?.tag ?? null,
          home: heater?.home.label ?? null,
          technology: heater?.technology ?? null,
          kgCo2e: this.#weigh(entry),
        };
        this.#fingerprint.addEntry(stored);
        return stored;
      });
  }

  /** The property along the plan, or as it is where there is none, checked against the policies. */
  #addAhead(record: PropertyRecord, account: PropertyAccount, homes: number): readonly RunYear[] {
    const { asOf, plan, rules } = this.input;
    const { terms, policies } = rules;
    const lines = plan?.lines ?? new Map<string, null>();
    const heaters = record.lives
      .filter(({ heater, retired, predecessorId }) =>
        // A heater without a line that follows one with a line is that line's own future.
        lines.has(heater.id)
          ? true
          : retired === null && (predecessorId === null || !lines.has(predecessorId)),
      )
      .map(({ heater }) => heater);
    const swaps = heaters.flatMap((heater): PlannedSwap[] => {
      const swap = lines.get(heater.id);
      return swap ? [{ heaterId: heater.id, ...swap }] : [];
    });
    const years = plannedYears({
      site: record.site,
      energy: record.energy,
      heaters,
      swaps,
      years: span(plan?.firstYear ?? yearOf(asOf), plan?.lastYear ?? yearOf(asOf) + YEARS_AHEAD),
      asOf: plan?.asOf ?? asOf,
      meterFactor: account.calibration?.factor ?? null,
      book: this.#book,
      gwpSet: terms.gwpSet,
      gridOutlook: terms.gridOutlook.points,
      gridOutlookSource: terms.gridOutlook.source,
      refrigerantTerms: terms.refrigerant,
      refrigerantLog: record.refrigerantLog,
    });
    const findings = policies.flatMap((policy) =>
      checkPolicy(policy, {
        propertyId: record.propertyId,
        homes,
        floorAreaSqFt: record.energy.floorAreaSqFt,
        years: years.map((each) => ({ ...each, kgCo2e: each.planned })),
        installs: swaps.map(({ day, option }) => ({ day, technology: option.technology })),
      }),
    );
    for (const finding of findings) this.#addFinding(finding);
    for (const each of years) this.#addToPath(each);
    return years.flatMap((each) =>
      runYearsAhead(record.propertyId, heaters.length, each, findings),
    );
  }

  #addToPath({ year, planned, unchanged, swaps, burnersLeft }: PlannedYear): void {
    const before = this.#path.get(year);
    this.#path.set(year, {
      year,
      planned: addTotals(before?.planned ?? NO_TOTALS, planned),
      unchanged: addTotals(before?.unchanged ?? NO_TOTALS, unchanged),
      swaps: (before?.swaps ?? 0) + swaps,
      burnersLeft: (before?.burnersLeft ?? 0) + burnersLeft,
    });
  }

  #addFinding({ policyId, year, kind, amount, cents }: PolicyFinding): void {
    const key = `${policyId}/${year}/${kind}`;
    const before = this.#policies.get(key);
    this.#policies.set(key, {
      policyId,
      year,
      kind,
      properties: (before?.properties ?? 0) + 1,
      amount: (before?.amount ?? 0) + amount,
      cents: cents === null ? (before?.cents ?? null) : (before?.cents ?? 0) + cents,
    });
  }

  #yearsWithTotals(inventories: ReadonlyMap<number, Inventory>): readonly RunYear[] {
    const byPlace = new Map(
      [...inventories].map(([year, inventory]) => [year, totalsByProperty(inventory)]),
    );
    return this.#years.flatMap(({ achieved, ahead }) => [
      ...achieved.map(
        (each): RunYear => ({
          ...each,
          kgCo2e: byPlace.get(each.year)?.get(each.propertyId) ?? NO_TOTALS,
        }),
      ),
      ...ahead,
    ]);
  }
}

function achievedYear(account: PropertyAccount, each: PropertyYear): Omit<RunYear, "kgCo2e"> {
  const detail: AchievedDetail = {
    gridRegion: account.gridRegion,
    change: each.change,
    kgCo2eWithoutSwaps: each.kgCo2eWithoutSwaps,
    swapsToHeatPump: each.swapsToHeatPump,
    meteredShare: each.meteredShare,
    calibration: account.calibration,
  };
  return {
    propertyId: account.propertyId,
    year: each.year,
    series: "achieved",
    heaters: each.heaters,
    swaps: each.swaps,
    detail,
  };
}

function runYearsAhead(
  propertyId: string,
  heaters: number,
  { year, planned, unchanged, swaps, burnersLeft }: PlannedYear,
  findings: readonly PolicyFinding[],
): readonly RunYear[] {
  const common = { propertyId, year, heaters };
  const detail: PlannedDetail = {
    burnersLeft,
    findings: findings.filter((finding) => finding.year === year),
  };
  return [
    { ...common, series: "planned", kgCo2e: planned, swaps, detail },
    { ...common, series: "unchanged", kgCo2e: unchanged, swaps: 0, detail: null },
  ];
}

function withTotals(
  each: Omit<AchievedYear, "kgCo2e" | "meteredShare">,
  inventory: Inventory | undefined,
): AchievedYear {
  const kgCo2e = totalsIn(inventory);
  const all = locationTotal(kgCo2e);
  const metered = inventory?.kgCo2eByBasis.metered ?? 0;
  return { ...each, kgCo2e, meteredShare: all > 0 ? metered / all : 0 };
}

function totalsIn(inventory: Inventory | undefined): ScopeTotals {
  return inventory?.kgCo2e ?? NO_TOTALS;
}

/** Totals of each property: the ids of the items of a property begin with its own. */
function totalsByProperty(inventory: Inventory): ReadonlyMap<string, ScopeTotals> {
  const totals = new Map<string, ScopeTotals>();
  for (const { id, kgCo2e } of inventory.items) {
    const propertyId = id.slice(0, id.indexOf("/"));
    totals.set(propertyId, addTotals(totals.get(propertyId) ?? NO_TOTALS, kgCo2e));
  }
  return totals;
}

function baseOf(computedKg: number, terms: EmissionsTerms): AccountSummary["base"] {
  const adoptedKg = terms.adopted?.kgCo2e ?? null;
  const decision =
    adoptedKg !== null && adoptedKg > 0
      ? decideBaseYear({
          kgCo2e: adoptedKg,
          changes: terms.changes,
          thresholdShare: terms.recalculationThreshold,
        })
      : null;
  return { computedKg, adoptedKg, decision, comparedKg: decision?.kgCo2e ?? computedKg };
}

function targetLine(
  { baseYear, rules }: AccountInput,
  baseKgCo2e: number,
  lastYear: number,
): AccountSummary["target"] {
  const points = rules.terms.target;
  const last = Math.max(lastYear, ...points.map((point) => point.year));
  return span(baseYear, last).flatMap((year) => {
    const kgCo2e = targetKg(year, { baseYear, baseKgCo2e, points });
    return kgCo2e === null ? [] : [{ year, kgCo2e }];
  });
}

function upstreamOf(inventory: Inventory, terms: EmissionsTerms): UpstreamMethane | null {
  if (terms.upstreamLeakShare === null) return null;
  const therms = inventory.lines
    .filter(({ factor, gas }) => factor.activity === "natural-gas" && gas === "co2")
    .reduce((sum, line) => sum + line.amount * THERMS_PER_MMBTU, 0);
  return upstreamMethane({ therms, leakShare: terms.upstreamLeakShare, gwpSet: terms.gwpSet });
}

const THERMS_PER_MMBTU = 10;

function factorsOf(inventory: Inventory): readonly FactorRow[] {
  const rows = new Map(inventory.lines.map(({ factor }) => [factor.id, factor]));
  return [...rows.values()].sort((a, b) => compareText(a.id, b.id));
}

function keyOf({ activity, basis, from, readingId }: AccountEntry): string {
  return [activity, basis, from, readingId].join("/");
}

function compareText(a: string, b: string): number {
  return a < b ? -1 : a > b ? 1 : 0;
}

function inOrder<T extends { readonly year: number }>(years: ReadonlyMap<number, T>): T[] {
  return [...years.values()].sort((a, b) => a.year - b.year);
}

function span(first: number, last: number): number[] {
  return Array.from({ length: Math.max(0, last - first + 1) }, (_, index) => first + index);
}

/**
 * The fingerprint of an account: SHA-256 over its rules, its rows and its factor rows, in this order.
 * Names of heaters and homes are left out: they may change without changing the account.
 */
export class Fingerprint {
  readonly #hash = createHash("sha256");

  constructor(frame: {
    readonly year: number;
    readonly baseYear: number;
    readonly rules: AccountRules;
  }) {
    this.#add({ method: ACCOUNT_METHOD, ...frame });
  }

  addEntry({ tag: _tag, home: _home, ...entry }: StoredEntry): void {
    this.#add(entry);
  }

  digest(factors: readonly FactorRow[]): string {
    for (const row of factors) this.#add(row);
    return this.#hash.digest("hex");
  }

  #add(value: unknown): void {
    this.#hash.update(`${canonicalJson(value)}\n`);
  }
}

/** JSON whose keys are in order, so that equal values give equal text. */
function canonicalJson(value: unknown): string {
  return JSON.stringify(value, (_key, each: unknown) =>
    each !== null && typeof each === "object" && !Array.isArray(each)
      ? Object.fromEntries(Object.entries(each).sort(([a], [b]) => compareText(a, b)))
      : each,
  );
}
